// The chemical line after a change at the gun: counted down here from the time the monitor gives for that hose.
// Without a hose in the rig file there is no time, and nothing is shown.

import { el, setText } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";

const SHOWN_AFTER_S = 20;

export class Soap {
  constructor() {
    this.node = el("p", { class: "soap", hidden: true });
    this.running = null;
  }

  /** `pump.line_s` is how long the hose takes to fill anew at its present flow, in seconds. */
  start(act, pump) {
    const known = pump && typeof pump.line_s === "number";
    this.running = known ? { act, name: pump.name, end_ms: performance.now() + pump.line_s * 1000 } : null;
    this.tick();
  }

  tick() {
    const left_s = this.running ? (this.running.end_ms - performance.now()) / 1000 : -Infinity;
    if (left_s < -SHOWN_AFTER_S) this.running = null;
    this.node.hidden = this.running === null;
    if (this.running) setText(this.node, this.words(left_s));
  }

  words(left_s) {
    const { act, name } = this.running;
    const key = act === "rinsing" ? "clear" : "soap";
    if (left_s > 0) return t(`soap.${key}_in`, { pump: name, time: say.age(Math.ceil(left_s)) });
    return t(`soap.${key}`, { pump: name });
  }
}
