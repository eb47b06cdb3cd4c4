// The countdown of the chemical line on the crew page: from a touch of soaping or rinsing until a little after the line
// has come round. Without a hose in the rig file there is nothing to count, and nothing is shown.

import { countdown } from "../shared/countdown.js";
import { el, setText } from "../shared/dom.js";
import * as say from "./say.js";

const SHOWN_AFTER_S = 20;
const LONGEST_S = 1800; // who has not sprayed for so long looks no longer for what is in the hose

export class Soap {
  constructor() {
    this.node = el("p", { class: "soap", role: "status", hidden: true });
    this.done = new Map(); // by pump, since when its line has come round; null while it has not
  }

  show({ at, chemical, pumps }) {
    const line = chemical.filter((each) => this.stands(each, at)).sort((one, other) => other.since - one.since)[0];
    this.node.hidden = !line;
    setText(this.node, line ? countdown(line, pumps.find(({ name }) => name === line.pump), say.age) : "");
  }

  /** By the monitor's own time, so that a simulated day counts at its own speed. */
  stands({ pump, mode, since, to_go_s }, at) {
    if (!mode || to_go_s === null || at - since > LONGEST_S) return false;
    if (to_go_s > 0) {
      this.done.set(pump, null);
      return true;
    }
    if (!this.done.has(pump)) return false; // it had come round before this page was opened
    this.done.set(pump, this.done.get(pump) ?? at);
    return at - this.done.get(pump) <= SHOWN_AFTER_S;
  }
}
