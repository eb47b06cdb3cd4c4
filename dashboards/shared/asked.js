// A figure that opens at a touch and says what it is, how it is worked out and what to do about it.

import { el } from "./dom.js";
import { t } from "./words.js";

const open = new Set(); // by key: what was opened stays so when the page draws the figure anew

/** For a figure's details, drawn anew with each answer: what was opened is open again. */
export function keptOpen(key) {
  return { open: open.has(key), ontoggle: (event) => (event.target.open ? open.add(key) : open.delete(key)) };
}

/** `shown` is the figure, `key` that of its explanation's words. */
export function asked(key, shown, more) {
  return el("details", { class: "asked", ...keptOpen(key) }, el("summary", more, shown), el("p", { class: "soft" }, t(key)));
}
