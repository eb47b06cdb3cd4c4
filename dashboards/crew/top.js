// The quiet line at the top: whose rig, how old, what time, and whether any of it is real.

import { el, setText } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";
import { troublesShort } from "./troubles.js";

const FRESH_S = 2; // ages under this are not worth counting
const OLD_READING_S = 5;
const SILENT = ["shelved", "suppressed by design", "out of service"];

export class Top {
  constructor() {
    this.name = el("p", { class: "top-name" });
    this.feed = el("p", { class: "top-feed" });
    this.trouble = el("p", { class: "top-trouble" });
    this.driver = el("p", { class: "top-driver" });
    this.quiet = el("p", { class: "top-quiet" });
    this.age = el("p", { class: "top-age" });
    this.node = el("header", { class: "top" }, this.name, this.feed, this.trouble, this.driver, this.quiet, this.age);
  }

  show(state) {
    this.state = state;
    setText(this.name, state.rig.name);
    setText(this.feed, feedWords(state));
    this.feed.hidden = this.feed.textContent === "";
    setText(this.trouble, troublesShort(state));
    this.trouble.hidden = this.trouble.textContent === "";
    setText(this.driver, t("top.not_driver"));
    const quiet = state.alarms.filter((a) => SILENT.includes(a.state)).length;
    setText(this.quiet, quiet ? t("top.quiet_alarms", { n: quiet }) : "");
    this.quiet.hidden = quiet === 0;
  }

  /** Ages grow between two states too, by the page's own elapsed time. */
  tick(live) {
    if (!this.state) return;
    const heard = t("top.heard", { time: say.age(Math.max(FRESH_S / 2, live.sinceHeard_s())) });
    const reading_s = this.state.age_s === null ? null : this.state.age_s + live.sinceHeard_s();
    const old = reading_s !== null && reading_s > OLD_READING_S ? t("head.level_old", { time: say.age(reading_s) }) : heard;
    setText(this.age, `${old} · ${say.clock(this.state.wall + live.sinceHeard_s(), this.state.rig.timezone)}`);
    this.age.dataset.old = String(old !== heard);
  }
}

/** Said loudly whenever the water is not this rig's own, now. */
export function feedWords({ source, scenario, speed }) {
  const kind = { simulated: t("top.simulated"), recorded: t("top.recorded") }[source];
  const faster = speed !== 1 ? t("top.speed", { n: Number(speed.toFixed(1)) }) : "";
  return [kind, kind && scenario, faster].filter(Boolean).join(" · ");
}
