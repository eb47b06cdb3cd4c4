// The alarm page: is it believed? How often it calls, what it called for, what is put aside, and what each alarm means.

import { el, redrawOn, setText } from "../shared/dom.js";
import { corner } from "../shared/corner.js";
import { theme } from "../shared/theme.js";
import { chosenLanguage, currentLanguage, firstWords, loadWords, t } from "../shared/words.js";
import { offenders, stood, yardstick } from "./record.js";
import { catalogue, standing } from "./standing.js";

const HOURS = [8, 24, 168];
const AGAIN_MS = 5000;
const PATTERNS = ["release", "high", "medium"];

export class AlarmPage {
  constructor(root) {
    this.root = root;
    this.hours = 24;
  }

  async start() {
    await firstWords(chosenLanguage(document.documentElement.lang));
    this.build();
    await this.look();
    setInterval(() => this.look(), AGAIN_MS);
  }

  build() {
    document.title = t("rate.title");
    this.parts = Object.fromEntries(["tools", "now", "rate", "worst", "horn", "laid", "record", "catalogue"].map((name) => [name, el("div", {})]));
    this.said = el("p", { class: "said", role: "status" });
    const part = (key, name) => el("section", {}, el("h2", {}, t(key)), this.parts[name]);
    this.root.replaceChildren(
      el("header", {}, el("h1", { class: "heading" }, t("rate.title")), this.parts.tools),
      el("main", {}, this.said, part("rate.now", "now"), part("rate.rate", "rate"), part("rate.worst", "worst"), part("horn.title", "horn"), part("laid.title", "laid"), part("rate.record", "record"), part("cat.title", "catalogue")),
    );
  }

  async look() {
    try {
      const [state, record] = await Promise.all([asked("/api/state"), asked(`/api/alarms/record?hours=${this.hours}`)]);
      this.entries = this.entries || (await asked("/api/alarms/catalogue"));
      if (!this.language) await this.speak(chosenLanguage(state.rig.language));
      if (this.silent) this.say("");
      this.silent = false;
      this.show(state, record);
    } catch (fault) {
      this.silent = true;
      this.say(t("rate.silent", { why: fault.message }));
    }
  }

  show(state, record) {
    this.heard = [state, record];
    const { parts, language } = this;
    const tell = (act, more) => this.tell(act, more);
    redrawOn(parts.tools, [this.hours, language, theme()], () => this.tools());
    redrawOn(parts.now, [state.alarms, language], () => standing(state, tell));
    redrawOn(parts.rate, [record.told, record.ten_minutes, record.verdict, this.hours, language], () => yardstick(record));
    redrawOn(parts.worst, [record.told, record.stood.length, this.hours, language], () => offenders(record));
    redrawOn(parts.horn, [state.horn, state.source, language], () => this.horn(state));
    redrawOn(parts.laid, [state.laid_up, language], () => this.laidUp(state));
    redrawOn(parts.record, [record.stood, this.hours, language], () => stood(record, state.rig.timezone));
    const out = state.alarms.filter((one) => one.state === "out of service").map((one) => one.alarm);
    redrawOn(parts.catalogue, [out, language], () => catalogue(this.entries, state, tell));
  }

  tools() {
    const choices = HOURS.map((hours) => el("button", { type: "button", "aria-pressed": String(hours === this.hours), onclick: () => this.set(hours) }, hours > 24 ? t("rate.days", { n: hours / 24 }) : t("rate.hours", { n: hours })));
    return [
      el("div", { class: "choices", role: "group", "aria-label": t("rate.window") }, choices),
      ...corner(() => this.again()),
    ];
  }

  horn(state) {
    const how = state.horn === null ? t(state.source === "live" ? "horn.none" : "horn.practice") : state.horn.ok ? t("horn.ok") : `${state.horn.why} ${state.horn.do}`;
    const test = (pattern) => el("button", { type: "button", onclick: () => this.tell("test-horn", { pattern }) }, t(`horn.test_${pattern}`));
    const tests = state.horn === null ? null : el("div", { class: "choices" }, PATTERNS.map(test));
    return [el("p", {}, how), el("p", {}, t("horn.meaning")), el("p", { class: "soft" }, t("horn.loud")), tests];
  }

  /** The rig stands unused: only what says stop is said. */
  laidUp(state) {
    const on = Boolean(state.laid_up);
    const set = () => this.tell("laid-up", { on: !on });
    return [el("p", {}, t(on ? "laid.on" : "laid.off")), el("button", { type: "button", "aria-pressed": String(on), onclick: set }, t(on ? "laid.end" : "laid.begin"))];
  }

  set(hours) {
    this.hours = hours;
    this.look();
  }

  async speak(language) {
    await loadWords(language);
    this.again();
  }

  /** In the language and the colours that were chosen. */
  again() {
    if (this.language !== currentLanguage()) {
      this.language = currentLanguage();
      this.build();
    }
    if (this.heard) this.show(...this.heard);
  }

  async tell(act, more) {
    const answer = await fetch("/api/act", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ act, by: "alarm page", ...more }) }).catch(() => null);
    const refused = answer && !answer.ok ? await answer.json().catch(() => ({})) : {};
    if (answer && answer.ok) this.say(t("rate.done"));
    else this.say(`${refused.error || t("act.unsent")} ${refused.do || ""}`);
    await this.look();
  }

  say(text) {
    setText(this.said, text);
  }
}

async function asked(url) {
  const answer = await fetch(url);
  const body = await answer.json();
  if (!answer.ok) throw new Error(`${body.error || answer.status} ${body.do || ""}`);
  return body;
}
