// What can be worked by hand: the tap, and each gun taken from the crew or given back.

import * as say from "../crew/say.js";
import { el, redrawOn } from "../shared/dom.js";
import { t } from "../shared/words.js";

const SHARES = [0, 0.25, 0.5, 0.75, 1];

export class Hands {
  constructor(send) {
    this.send = send;
    this.node = el("section", { class: "hands" });
  }

  show(day) {
    const { truth, handles } = day.now;
    const key = [truth.phase, handles, truth.engine, truth.trigger, document.documentElement.lang];
    redrawOn(this.node, key, () => [
      el("h2", {}, t("bench.hands")),
      el("p", { class: "soft" }, t(`bench.phase.${truth.phase}`)),
      this.tap(handles),
      ...day.about.pumps.map((pump) => this.pump(pump, truth, handles)),
    ]);
  }

  hand(what, how) {
    return () => this.send("hand", { what, ...how });
  }

  tap(handles) {
    const now = handles.tap_open ? handles.tap_share : 0;
    const choose = (share) => (share ? { open: true, share } : { open: false });
    const button = (share) => el("button", { type: "button", "aria-pressed": String(Math.abs(share - now) < 0.01), onclick: this.hand("tap", choose(share)) },
      share === 0 ? t("bench.shut") : share === 1 ? t("bench.open") : `${say.whole(100 * share)} %`);
    return el("div", { class: "work", role: "group", "aria-label": t("bench.tap") },
      el("h3", {}, t("bench.tap"), el("span", { class: "soft" }, handles.hose_on ? "" : ` ${t("bench.hose_off")}`)),
      el("div", { class: "choices" }, SHARES.map(button)));
  }

  pump(pump, truth, handles) {
    const mine = handles.by_hand[pump];
    const toggle = (what, on) => el("button", { type: "button", "aria-pressed": String(on), onclick: this.hand(what, { pump, on: !on }) }, t(`bench.${what}`));
    return el("div", { class: "work", role: "group", "aria-label": pump, "data-mine": mine },
      el("h3", {}, pump, el("span", { class: "soft" }, ` ${t(mine ? "bench.by_hand" : "bench.by_crew")}`)),
      el("div", { class: "choices" }, toggle("engine", truth.engine[pump]), toggle("trigger", truth.trigger[pump]),
        el("button", { type: "button", disabled: !mine, onclick: this.hand("give-back", { pump }) }, t("bench.give_back"))));
  }
}
