// One line that answers "what now?".

import { el, setText } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";

export class Advice {
  constructor() {
    this.node = el("p", { class: "advice" });
  }

  show(state) {
    setText(this.node, adviceWords(state.advice, state.forecast.volume_sd_l));
  }
}

const SAID = {
  carries_all: () => t("advice.carries_all"),
  stop_to_hold: (w, sd_l) => {
    const values = { stop: say.names(w.stop), keep: say.names(w.keep || []), volume: say.volume(w.volume_l, sd_l) };
    return values.keep ? t("advice.stop_to_hold", values) : t("advice.stop_to_hold_all", values);
  },
  wait_then: (w) => t("advice.wait_then", { wait: say.wait(w.wait_s), volume: say.volume(w.volume_l) }),
  stop_buys: (w) => t("advice.stop_buys", { stop: say.names(w.stop), gains: say.span(w.gains_s) }),
  share: (w) => t("advice.share", { percent: say.whole(Math.floor(w.percent / 5) * 5) }),
  filling: (w) => t("advice.filling", { full: say.span(w.full_s) }),
  full: () => t("advice.full"),
  no_supply: (w) => (w.lasts_s > 0 ? t("advice.no_supply", { lasts: say.span(w.lasts_s) }) : t("advice.no_supply_dry")),
  idle: () => t("advice.idle"),
  unmetered: () => t("advice.unmetered"),
  unknown: () => t("advice.unknown"),
};

/** The line for a piece of advice; one this page has no words for is left out rather than guessed at. */
export function adviceWords(advice, sd_l) {
  if (!advice || !SAID[advice.say]) return "";
  return SAID[advice.say](advice.with, sd_l);
}
