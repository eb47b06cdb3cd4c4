// A figure that opens at a touch and says what it is, how it is worked out and what to do about it.

import { el } from "./dom.js";
import { t } from "./words.js";

const open = new Set(); // by key: what was opened stays so when the page draws the figure anew

/** `shown` is the figure, `key` that of its explanation's words. */
export function asked(key, shown, more) {
  const turned = (event) => (event.target.open ? open.add(key) : open.delete(key));
  return el("details", { class: "asked", open: open.has(key), ontoggle: turned }, el("summary", more, shown), el("p", { class: "soft" }, t(key)));
}
