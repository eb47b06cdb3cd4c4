// The page explains itself: after "What is this?", or by a long press, a touch on any figure says what it is, how it is
// worked out and what to do about it. An alarm that speaks ends it, and so does a while without a touch.

import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";

const LONG_PRESS_MS = 700;
const ENDS_AFTER_MS = 60_000;
const SLIPPED_PX = 12;
// a part that says now one thing and now another says itself which, in data-why
const FIGURES = [
  [".head-early", "early"], [".head-trend", "trend"], [".head-volume", "volume"], [".head-time", "time"], [".picture", "picture"],
  [".pump-sum", "sum"], [".pump-today", "today"], [".pump-of-tap", "tap"], [".pump", "pump"], [".advice", "advice"], [".soap", "soap"],
  [".top-quiet", "quiet"], [".top-age", "age"], [".top-feed", "feed"], [".top-trouble", "trouble"],
];

export class Explain {
  constructor(root, sheet, onChange) {
    this.root = root;
    this.sheet = sheet;
    this.onChange = onChange;
    this.asking = false;
    root.addEventListener("click", (event) => this.click(event), { capture: true });
    root.addEventListener("pointerdown", (event) => this.press(event));
    root.addEventListener("contextmenu", (event) => figureAt(event.target) && event.preventDefault());
    for (const end of ["pointerup", "pointercancel", "pointerleave"]) root.addEventListener(end, () => clearTimeout(this.pressing));
    root.addEventListener("pointermove", (event) => this.moved(event));
  }

  start() {
    this.set(true);
    this.ending = setTimeout(() => this.stop(), ENDS_AFTER_MS);
  }

  stop() {
    if (this.asking) this.set(false);
  }

  set(asking) {
    clearTimeout(this.ending);
    this.asking = asking;
    this.root.dataset.asking = String(asking);
    this.onChange();
  }

  click(event) {
    const found = figureAt(event.target);
    const pressed = this.pressed;
    this.pressed = false;
    if (!pressed && !(this.asking && found)) return;
    event.preventDefault();
    event.stopPropagation();
    if (!pressed) this.say(found);
  }

  press(event) {
    clearTimeout(this.pressing);
    this.pressed = false;
    const found = figureAt(event.target);
    this.from = [event.clientX, event.clientY];
    if (found) this.pressing = setTimeout(() => { this.pressed = true; this.say(found); }, LONG_PRESS_MS);
  }

  moved({ clientX, clientY }) {
    if (this.from && Math.hypot(clientX - this.from[0], clientY - this.from[1]) > SLIPPED_PX) clearTimeout(this.pressing);
  }

  say([node, key]) {
    const shown = key === "picture" ? "" : node.innerText.replace(/\s+/g, " ").trim();
    this.sheet.open(t("why.title"), shown ? el("p", { class: "why-shown" }, shown) : null, el("p", { class: "why" }, t(`why.${key}`)));
  }
}

/** The figure under a touch, with its key; null where there is none. */
function figureAt(target) {
  for (const [selector, key] of FIGURES) {
    const node = target.closest(selector);
    if (node) return [node, node.dataset.why || key];
  }
  return null;
}
