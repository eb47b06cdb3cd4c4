// The chemical line after a change at the gun: how long the old water still comes, counted down by what flows.
// It moves on only while the pump draws: with the trigger closed the line stands. Without a hose in the rig file there
// is nothing to count, and nothing is shown.

import { el, setText } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";

const SHOWN_AFTER_S = 20;

export class Soap {
  constructor() {
    this.node = el("p", { class: "soap", role: "status", hidden: true });
    this.running = null;
  }

  /** `pump.line_s` is how long the hose takes to fill anew at its present flow, in seconds. */
  start(act, pump, at) {
    const known = pump && typeof pump.line_s === "number";
    this.running = known ? { act, pump, name: pump.name, at, share: 1, over_s: 0 } : null;
    this.write();
  }

  /** By the monitor's own time, so that a simulated day counts at its own speed. */
  show({ at, pumps }) {
    const { running } = this;
    if (!running) return;
    const pump = pumps.find((p) => p.name === running.name);
    const passed_s = Math.max(0, at - running.at);
    if (!pump || typeof pump.line_s !== "number") this.running = null;
    else Object.assign(running, movedOn(running, passed_s), { at, pump });
    if (this.running && running.over_s > SHOWN_AFTER_S) this.running = null;
    this.write();
  }

  write() {
    this.node.hidden = this.running === null;
    setText(this.node, this.running ? words(this.running) : "");
  }
}

/** How much of the old water is still in the line, and since when none is; by the flow that was there meanwhile. */
function movedOn({ pump, share, over_s }, passed_s) {
  if (share <= 0) return { share, over_s: over_s + passed_s };
  const flows = pump.state === "draws" || pump.state === "unknown";
  return { share: Math.max(0, share - (flows ? passed_s / pump.line_s : 0)), over_s };
}

function words({ act, name, pump, share }) {
  const key = act === "rinsing" ? "clear" : "soap";
  if (share <= 0) return t(`soap.${key}`, { pump: name });
  const time = say.age(Math.ceil(share * pump.line_s));
  const stands = pump.state === "off" || pump.state === "bypass";
  return t(stands ? `soap.${key}_held` : `soap.${key}_in`, { pump: name, time });
}
