// The chemical line: one pump at a time, what it needs now on top, the arithmetic below, the cautions always there.

import * as say from "../crew/say.js";
import { corner } from "../shared/corner.js";
import { el, redrawOn, setText } from "../shared/dom.js";
import { theme } from "../shared/theme.js";
import { chosenLanguage, currentLanguage, firstWords, loadWords, t } from "../shared/words.js";
import { Dilution } from "./dilution.js";
import { countdown, hose, mix, noSoap, tank } from "./parts.js";

const EVERY_MS = 1000;
const CAUTIONS = ["label", "bleach", "plants", "pressure"];

export class ChemicalPage {
  constructor(root) {
    this.root = root;
    this.pump = null;
    this.strengths = {};
    this.dilution = new Dilution();
  }

  async start() {
    await firstWords(chosenLanguage(document.documentElement.lang));
    await this.ask();
    setInterval(() => this.ask(), EVERY_MS);
  }

  async ask() {
    try {
      const answer = await fetch("/api/state", { signal: AbortSignal.timeout(4000) });
      if (!answer.ok) throw new Error(String(answer.status));
      const first = !this.state;
      this.state = await answer.json();
      if (first) await this.begin();
      this.show();
    } catch {
      if (this.parts) this.say(t("chemical.silent"));
      else setText(this.root, t("chemical.silent"));
    }
  }

  async begin() {
    const { rig, chemical } = this.state;
    this.units = rig.units;
    say.setUnits(this.units);
    const language = chosenLanguage(rig.language);
    if (language !== currentLanguage()) await loadWords(language);
    const asked = new URLSearchParams(location.search).get("pump");
    this.pump = (chemical.find((each) => each.pump === asked) || chemical[0] || { pump: null }).pump;
    this.build();
  }

  build() {
    document.title = t("chemical.title");
    const names = ["choice", "now", "nosoap", "mix", "tank", "hose"];
    this.parts = Object.fromEntries(names.map((name) => [name, el("section", { class: name })]));
    this.refused = el("p", { class: "refused", role: "status", hidden: true });
    const other = this.units === "us" ? "metric" : "us";
    const turn = () => { this.units = other; say.setUnits(other); this.build(); this.show(); };
    this.root.replaceChildren(
      el("header", {}, el("h1", { class: "heading" }, t("chemical.title")), el("nav", { class: "tools", "aria-label": t("chemical.tools") },
        el("a", { class: "button", href: "/plan" }, t("chemical.to_plan")),
        el("button", { type: "button", onclick: turn }, t(`chemical.units_${other}`)), corner(() => { this.build(); this.show(); }))),
      this.refused,
      el("ul", { class: "cautions" }, CAUTIONS.map((key) => el("li", {}, t(`chemical.caution_${key}`)))),
      this.parts.choice,
      el("div", { class: "sheet" }, el("div", {}, this.parts.now, this.parts.nosoap), el("div", {}, this.parts.mix, this.parts.tank, this.parts.hose, this.dilution.build(this.units))),
    );
  }

  show() {
    const { chemical } = this.state;
    const line = chemical.find((each) => each.pump === this.pump);
    const how = [currentLanguage(), this.units, theme(), this.pump];
    redrawOn(this.parts.choice, [how, chemical.map((each) => each.pump)], () => this.choice(chemical));
    if (!line) return;
    const tell = (act, more) => this.tell(act, { pump: line.pump, ...more });
    const pump = this.state.pumps.find(({ name }) => name === line.pump);
    redrawOn(this.parts.now, [how, line.mode, line.to_go_s, line.line_s, pump.state], () => countdown(line, pump, tell));
    redrawOn(this.parts.nosoap, [how, line.mode, line.look_at, line.accused], () => noSoap(line));
    const strength = this.strengths[line.pump] ?? line.strength;
    redrawOn(this.parts.mix, [how, chemical.map((each) => [each.injects_l_min, each.flow_l_min]), strength], () => mix(line, chemical, strength, this.units, (value) => { this.strengths[line.pump] = value; this.show(); }));
    redrawOn(this.parts.tank, [how, line.left_l, line.tank_l, line.injects_l_min, line.measured], () => tank(line, tell, this.units));
    redrawOn(this.parts.hose, [how, line.extra_m, line.line_s, line.gun_pa, line.rating], () => hose(line, tell, this.units));
  }

  choice(chemical) {
    if (chemical.length < 2) return chemical.length ? null : el("p", {}, t("chemical.no_pump"));
    return el("div", { class: "choices", role: "group", "aria-label": t("chemical.which") }, chemical.map(({ pump }) =>
      el("button", { type: "button", "aria-pressed": String(pump === this.pump), onclick: () => { this.pump = pump; this.show(); } }, pump)));
  }

  async tell(act, more) {
    const answer = await fetch("/api/act", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ act, by: "chemical page", ...more }) }).catch(() => null);
    const refused = answer && !answer.ok ? await answer.json().catch(() => ({})) : null;
    if (!answer) this.say(t("act.unsent"));
    else this.say(refused ? `${refused.error} ${refused.do}` : "");
    await this.ask();
  }

  say(words) {
    this.refused.hidden = !words;
    setText(this.refused, words);
  }
}
