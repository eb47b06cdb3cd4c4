// The bench: the day's truth beside what the monitor believes, and every hand that can be put into the day.

import * as say from "../crew/say.js";
import { el, redrawOn, setText } from "../shared/dom.js";
import { corner } from "../shared/corner.js";
import { fitLetters, theme } from "../shared/theme.js";
import { chosenLanguage, currentLanguage, firstWords, loadWords, t } from "../shared/words.js";
import { Chart } from "./chart.js";
import { Day } from "./day.js";
import { Faults } from "./faults.js";
import { Hands } from "./hands.js";

const SPEEDS = [1, 5, 10, 20, 60, 200];
const WINDOWS_MIN = [15, 60, 180];

export class BenchPage {
  constructor(root) {
    this.root = root;
    this.window_min = 60;
    this.day = new Day(() => this.heard(), () => this.silent());
  }

  async start() {
    fitLetters();
    await firstWords(chosenLanguage(document.documentElement.lang));
    this.build();
    this.day.start();
  }

  build() {
    const send = (what, body) => this.send(what, body);
    this.chart = new Chart();
    this.hands = new Hands(send);
    this.faults = new Faults(send);
    this.title = el("div", { class: "title-line" });
    this.tools = el("div", { class: "tools" });
    this.refused = el("p", { class: "refused", role: "alert", hidden: true });
    this.again = el("footer", { class: "again" });
    this.root.replaceChildren(
      el("header", { class: "top" }, this.title, this.tools), this.refused,
      el("main", { class: "bench" }, el("div", { class: "picture" }, this.chart.node), el("div", { class: "side", tabindex: "0" }, this.hands.node, this.faults.node)),
      this.again,
    );
  }

  async heard() {
    const { rig } = this.day.state;
    say.setUnits(this.units || rig.units);
    if (!this.language) await this.useLanguage(chosenLanguage(rig.language));
    this.root.classList.remove("silent");
    this.say(this.refusal || "");
    this.show();
  }

  show() {
    if (!this.day.about || !this.day.state) return;
    this.showTop();
    this.hands.show(this.day);
    this.faults.show(this.day);
    this.chart.draw(this.day, 60 * this.window_min);
  }

  showTop() {
    const { about, state } = this.day;
    redrawOn(this.title, [about.title, about.seed, this.language], () => [
      el("h1", { class: "heading" }, t("bench.title")), el("span", { class: "day" }, about.title),
      el("span", { class: "soft" }, `${about.scenario} · ${t("bench.seed")} ${about.seed}`), (this.time = el("time", {})),
    ]);
    setText(this.time, say.clock(state.wall, state.rig.timezone));
    redrawOn(this.tools, [about.speed, this.window_min, this.language, this.units || state.rig.units, theme()], () => this.buildTools(about, state));
    const { done } = this.day.now;
    redrawOn(this.again, [about.again, done, this.language], () => [
      el("span", {}, t("bench.again")), el("code", {}, about.again),
      done ? el("details", { open: this.doneOpen, ontoggle: (event) => { this.doneOpen = event.target.open; } },
        el("summary", {}, t("bench.done")), el("pre", { tabindex: "0" }, done)) : null,
    ]);
  }

  buildTools(about, state) {
    const choice = (label, values, now, words, choose) => el("div", { class: "choices", role: "group", "aria-label": label },
      values.map((value) => el("button", { type: "button", "aria-pressed": String(value === now), onclick: () => choose(value) }, words(value))));
    const speeds = [...new Set([...SPEEDS, about.speed])].sort((a, b) => a - b);
    const units = this.units || state.rig.units;
    return [
      choice(t("bench.speed"), speeds, about.speed, (n) => `${n} ×`, (speed) => this.send("speed", { speed })),
      choice(t("bench.window"), WINDOWS_MIN, this.window_min, (n) => say.counted(60 * n), (n) => this.set({ window_min: n })),
      choice(t("bench.units"), ["us", "metric"], units, (name) => t(`bench.units_${name}`), (name) => this.set({ units: name })),
      el("div", { class: "choices" },
        corner(() => this.spoken())),
    ];
  }

  set(what) {
    Object.assign(this, what);
    say.setUnits(this.units || this.day.state.rig.units);
    this.show();
  }

  async useLanguage(language) {
    await loadWords(language);
    this.spoken();
  }

  spoken() {
    this.language = currentLanguage();
    document.title = t("bench.title");
    this.show();
  }

  /** What was asked for, then at once how the day stands. */
  async send(what, body) {
    try {
      const answer = await fetch(`/api/bench/${what}`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) });
      this.refusal = answer.ok ? "" : (await answer.json()).error;
    } catch {
      this.silent();
    }
    return this.day.ask();
  }

  silent() {
    this.root.classList.add("silent");
    this.say(t("bench.silent"));
  }

  say(words) {
    this.refused.hidden = !words;
    setText(this.refused, words);
  }
}
