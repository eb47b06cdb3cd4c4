// What was: choose signals, drag through time, stretch it.

import { setUnits } from "../crew/say.js";
import { asked } from "../shared/asked.js";
import { el, redrawOn, setText } from "../shared/dom.js";
import { corner } from "../shared/corner.js";
import { fitLetters, theme } from "../shared/theme.js";
import { alarmWords, chosenLanguage, currentLanguage, firstWords, t } from "../shared/words.js";
import { follow, stretched } from "./hands.js";
import { draw } from "./picture.js";
import { shownIn } from "./units.js";
import { zoneShift_s } from "./zone.js";

const SPANS_S = { hour: 3600, day: 86400, week: 604800, month: 2629800, year: 31557600 };
const FIRST = ["rig/volume", "rig/inflow", "rig/draw"];
const ASK_AFTER_MS = 150;
const MOST_SIGNALS = 6;

async function fetched(url) {
  const answer = await fetch(url, { cache: "no-store", signal: AbortSignal.timeout(30_000) });
  const said = await answer.json();
  if (!answer.ok) throw new Error(`${said.error} ${said.do}`);
  return said;
}

export class HistoryPage {
  constructor(root) {
    this.root = root;
    this.chosen = [...FIRST];
    this.known = { first: null, last: null, signals: [] };
    this.answer = { signals: [], alarms: [] };
    this.view = { since: 0, until: SPANS_S.hour };
    this.asked = 0;
  }

  async start() {
    fitLetters();
    const state = await fetched("/api/state").catch(() => null);
    this.rig = state ? state.rig : { units: "us", language: "en", timezone: "UTC" };
    this.units = this.rig.units;
    await firstWords(chosenLanguage(this.rig.language));
    this.build();
    await this.look();
  }

  build() {
    this.tools = el("div", { class: "choices" });
    this.said = el("p", { class: "said", role: "status", hidden: true });
    this.canvas = el("canvas", { tabindex: "0", role: "img" });
    this.signals = el("div", { class: "signals" });
    this.how = el("div", {});
    this.told = el("ul", { class: "told" });
    this.heads = ["title", "signals", "alarms"].map((key) => el(key === "title" ? "h1" : "h2", { class: key === "title" && "heading", "data-key": key }));
    this.root.replaceChildren(
      el("header", { class: "top" }, this.heads[0], this.tools), this.said,
      el("main", {}, el("div", { class: "sheet" }, this.canvas), el("div", { class: "side", tabindex: "0" }, this.heads[1], this.signals, this.how, this.heads[2], this.told)),
    );
    follow(this.canvas, () => this.view, (view) => this.go(view));
    new ResizeObserver(() => this.show()).observe(this.canvas);
  }

  /** What there is by now; then the newest hour. */
  async look() {
    try {
      this.known = await fetched("/api/history/signals");
      if (this.known.last !== null) this.newest(SPANS_S.hour);
      else this.show(t("history.empty"));
    } catch (fault) {
      this.show(fault.message || t("history.silent"));
    }
  }

  newest(length_s) {
    this.go({ since: this.known.last - length_s, until: this.known.last });
  }

  /** Shows at once what is known of the window, and asks for the rest when the hand has come to rest. */
  go(view) {
    this.view = view;
    this.show();
    clearTimeout(this.soon);
    this.soon = setTimeout(() => this.ask(), ASK_AFTER_MS);
  }

  async ask() {
    this.asked += 1;
    const [number, { since, until }] = [this.asked, this.view];
    const points = Math.min(Math.max(Math.round(this.canvas.clientWidth), 100), 2000);
    const query = new URLSearchParams([...this.chosen.map((name) => ["signal", name]), ["since", Math.max(since, 0)], ["until", until], ["points", points]]);
    try {
      const answer = this.chosen.length ? await fetched(`/api/history?${query}`) : { signals: [], alarms: [] };
      if (number !== this.asked) return;
      this.answer = answer;
      const nothing = this.chosen.length && answer.signals.every((line) => !line.points.length);
      this.show(nothing ? t("history.gap") : "");
    } catch (fault) {
      this.show(fault.message || t("history.silent"));
    }
  }

  choose(name) {
    if (this.chosen.includes(name)) this.chosen = this.chosen.filter((each) => each !== name);
    else this.chosen = [...this.chosen, name].slice(-MOST_SIGNALS);
    this.go(this.view);
  }

  show(said) {
    if (said !== undefined) {
      this.said.hidden = !said;
      setText(this.said, said);
    }
    setUnits(this.units);
    document.title = t("history.title");
    for (const head of this.heads) setText(head, t(`history.${head.dataset.key}`));
    const language = currentLanguage();
    redrawOn(this.tools, [language, this.units, theme()], () => this.buildTools());
    redrawOn(this.signals, [language, this.units, this.chosen, this.known.signals], () => this.known.signals.map((signal) => this.signal(signal)));
    redrawOn(this.how, [language], () => asked("history.curves_why", t("history.curves")));
    const told = this.answer.alarms.filter((each) => each.state === "unacknowledged");
    redrawOn(this.told, [language, told], () => (told.length ? told.map((each) => this.alarm(each)) : [el("li", {}, t("history.no_alarms"))]));
    this.canvas.setAttribute("aria-label", t("history.picture", { signals: this.chosen.map((name) => this.titled(name)).join(", ") }));
    const lines = this.answer.signals.map((line) => ({ ...shownIn(line.unit, this.units), title: this.titled(line.name), points: line.points }));
    const words = { nothing: t("history.nothing"), clock: (at, window_s) => this.clock(at, window_s), number: (value) => this.number(value), shift_s: (at) => zoneShift_s(at, this.rig.timezone) };
    draw(this.canvas, this.view, lines, told, words);
  }

  buildTools() {
    const button = (words, onclick, more) => el("button", { type: "button", onclick, ...more }, words);
    const zoom = (factor) => () => this.go(stretched(this.view, factor, (this.view.since + this.view.until) / 2));
    return [
      ...Object.entries(SPANS_S).map(([name, length_s]) => button(t(`history.${name}`), () => this.newest(length_s))),
      button("+", zoom(0.5), { "aria-label": t("history.closer") }), button("−", zoom(2), { "aria-label": t("history.further") }),
      button(t("history.newest"), () => this.look()),
      ...["us", "metric"].map((name) => button(t(`history.units_${name}`), () => { this.units = name; this.show(); }, { "aria-pressed": String(name === this.units) })),
      ...corner(() => this.show()),
    ];
  }

  signal({ name, unit }) {
    const shown = shownIn(unit, this.units).unit;
    return el("button", { type: "button", "aria-pressed": String(this.chosen.includes(name)), onclick: () => this.choose(name) }, `${this.titled(name)}${shown ? ` (${shown})` : ""}`);
  }

  alarm({ at, alarm, subject }) {
    return el("li", {}, el("time", {}, this.clock(at, 0)), alarmWords(alarm).title, subject ? ` · ${subject}` : "");
  }

  /** What was believed has a name in words; what was read goes by the name it was sent under. */
  titled(name) {
    const believed = { "rig/volume": "volume", "rig/inflow": "inflow", "rig/draw": "draw" }[name];
    return believed ? t(`history.${believed}`) : name;
  }

  clock(at, window_s) {
    const day = { day: "numeric", month: "short" };
    const hour = { hour: "numeric", minute: "2-digit" };
    const how = window_s > 10 * 86400 ? { ...day, year: "2-digit" } : window_s > 86400 || !window_s ? { ...day, ...hour } : hour;
    return new Intl.DateTimeFormat(this.locale(), { ...how, timeZone: this.rig.timezone || undefined }).format(at * 1000);
  }

  number(value) {
    return new Intl.NumberFormat(this.locale(), { maximumSignificantDigits: 4 }).format(value + 0);
  }

  locale() {
    return `${currentLanguage()}-${this.units === "us" ? "US" : currentLanguage() === "es" ? "ES" : "GB"}`;
  }
}
