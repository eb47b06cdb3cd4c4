// The row of large buttons: what is used on the job, and first of all what an alarm asks for.

import { el, redrawOn, setAttr } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { isOver, longestQuiet_s, unseen } from "./alarms.js";
import { job } from "./sheet.js";

/** The keys to show, in order: an alarm's own two first, the rest as they fit; what doesn't fit is under More. */
export function rowFor(alarm, has, room) {
  const first = [];
  if (alarm && unseen(alarm)) first.push("act.got_it");
  if (alarm && longestQuiet_s(alarm) > 0 && !isOver(alarm)) first.push("act.quiet");
  if (!has.permit) first.push("act.permit");
  if (!has.sound) first.push("act.sound");
  const rest = ["act.rinsing", "act.soaping", "act.packing", "act.new_place"];
  const fitting = [...first, ...rest].slice(0, room - 1);
  return [...fitting, "act.more"];
}

export class Buttons {
  constructor(runs) {
    this.runs = runs;
    this.node = el("nav", { class: "buttons" });
  }

  show(keys) {
    setAttr(this.node, "aria-label", t("act.group"));
    redrawOn(this.node, keys.map((key) => [key, t(key)]), () => keys.map((key) => job(t(key), this.runs[key], { "data-act": key })));
    this.shown = keys;
  }
}
