// The largest things on the page: the time to dry, its early bound, the trend, the volume.

import { el, redrawOn, setAttr, setText, svg } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";

const ARROWS = {
  falling: "M8,18 L44,18 L84,58 L84,30 L100,30 L100,86 L44,86 L44,70 L72,70 L36,34 L8,34 Z",
  rising: "M8,82 L44,82 L84,42 L84,70 L100,70 L100,14 L44,14 L44,30 L72,30 L36,66 L8,66 Z",
  holding: "M8,30 L100,30 L100,46 L8,46 Z M8,58 L100,58 L100,74 L8,74 Z",
};

export class Headline {
  constructor() {
    this.label = el("p", { class: "head-label" });
    this.main = el("p", { class: "head-main" });
    this.early = el("p", { class: "head-early far" });
    this.trend = el("span", { class: "head-trend far" });
    this.volume = el("span", { class: "head-volume far" });
    this.time = el("div", { class: "head-time" }, el("h1", { id: "head-title", class: "head-label" }, this.label), this.main);
    this.node = el("section", { class: "head", "aria-labelledby": "head-title" }, this.time,
      el("div", { class: "head-beside" }, this.early, el("p", { class: "head-standing" }, this.trend, this.volume)));
  }

  show(state) {
    const said = headline(state);
    setAttr(this.node, "data-look", said.look);
    setAttr(this.time, "data-why", said.why);
    setAttr(this.early, "data-why", said.whyEarly);
    setText(this.label, said.label);
    redrawOn(this.main, said.main, () => said.main.map(([cls, text]) => el("span", { class: cls }, text)));
    setText(this.early, said.early);
    redrawOn(this.trend, said.trend && [said.trend, t(`head.${said.trend}`)], () => trendParts(said.trend));
    setText(this.volume, said.volume);
    this.fit(JSON.stringify(said));
  }

  /** Where the device has no narrow letters the line is made to fit; with them it does so by itself. */
  fit(key) {
    const fitted = `${key} ${this.node.clientWidth}`;
    if (fitted === this.fitted) return;
    this.fitted = fitted;
    this.node.style.setProperty("--fit", "1");
    const over = this.node.scrollWidth / Math.max(this.node.clientWidth, 1);
    if (over > 1) this.node.style.setProperty("--fit", (1 / over).toFixed(3));
  }
}

function trendParts(trend) {
  if (!trend) return [];
  return [
    svg("svg", { viewBox: "0 0 108 100", class: "trend-shape", "aria-hidden": "true" }, svg("path", { d: ARROWS[trend] })),
    t(`head.${trend}`),
  ];
}

/** What the headline says, as plain data: {look, label, main: [[class, text]], early, trend, volume, why, whyEarly}. */
export function headline(state) {
  const { forecast, water } = state;
  const sure = forecast.level_quality === "good";
  const dry = say.timeToDry(forecast.dry_s);
  const volume = say.volume(forecast.volume_l, forecast.volume_sd_l);
  const parts = mainParts(state, dry, sure);
  return { look: "known", label: t("head.label_in"), early: "", trend: water.trend, volume, why: "time", whyEarly: "early", ...parts };
}

function mainParts(state, dry, sure) {
  const { water } = state;
  const calm = dry.kind === "none" || (dry.kind === "over" && dry.early === null);
  if (calm && (water.trend === "rising" || water.trend === "holding")) return notFalling(state);
  if (dry.kind === "none") return unknown(state);
  return { ...MAIN[dry.kind](dry, sure), look: sure ? "known" : "uncertain", early: earlyWords(dry) };
}

const MAIN = {
  dry: () => ({ label: t("head.pumps_draw_air"), main: [["word", t("head.dry")]] }),
  under: () => ({ label: t("head.label_in"), main: [["aside far", t("head.under")], ["digits", "2"], ["unit far", t("time.unit_min")]] }),
  over: () => ({ label: t("head.label_in"), main: [["two", t("head.over")], ["two", t("head.an_hour")]] }),
  about: (dry, sure) => ({
    label: t(sure ? "head.label_about" : "head.label_uncertain"),
    main: [["digits", say.whole(dry.minutes)], [sure ? "unit far" : "unit far roughly", t("time.unit_min")]],
  }),
};

function earlyWords(dry) {
  if (dry.early === null) return "";
  return dry.early === 0 ? t("head.could_be_now") : t("head.could_be", { n: say.whole(dry.early) });
}

function notFalling({ water, forecast, supply }) {
  const label = t("head.label_now");
  const full = supply.state === "closed";
  const main = [["word", full ? t("head.full") : t(`head.${water.trend}`)]];
  const early = water.full_in_s === null ? "" : t("head.full_in", { time: say.bareSpan(Math.max(water.full_in_s, 60)) });
  const look = forecast.level_quality === "good" ? "known" : "uncertain";
  return { label, main, early: full ? "" : early, look, trend: null, why: "standing", whyEarly: "full_in" };
}

function unknown(state) {
  return {
    look: "unknown",
    label: t("head.label_in"),
    main: [["digits", "?"]],
    early: t(state.forecast.volume_l === null ? "head.look" : "head.unknown"),
    why: "unknown",
    whyEarly: "unknown",
  };
}
