// The practice page: which drills there are, what the one that runs is about, and how it went, the good first.

import { corner } from "../shared/corner.js";
import { el, redrawOn } from "../shared/dom.js";
import { theme } from "../shared/theme.js";
import { chosenLanguage, currentLanguage, firstWords, t } from "../shared/words.js";

const EVERY_MS = 1000;
const DRILLS = ["kinked-tap", "two-guns", "no-soap"];

export class PracticePage {
  constructor(root) {
    this.root = root;
    this.practice = undefined; // null on a rig
  }

  async start() {
    await this.ask();
    await firstWords(chosenLanguage(this.language || "en"));
    this.build();
    setInterval(() => this.ask().then(() => this.show()), EVERY_MS);
  }

  async ask() {
    try {
      const [said, state] = await Promise.all([fetched("/api/practice"), this.language ? null : fetched("/api/state")]);
      this.practice = said.practice;
      if (state) this.language = state.rig.language;
      if (this.wanted && this.practice.drill === this.wanted && this.practice.passed_s < 60) this.wanted = null;
    } catch {
      // the next day is being set up: asked again by itself
    }
  }

  build() {
    document.title = t("practice.title");
    this.parts = Object.fromEntries(["now", "score", "drills"].map((name) => [name, el("section", { class: name })]));
    this.root.replaceChildren(el("header", {}, el("h1", { class: "heading" }, t("practice.title")), el("nav", { class: "tools", "aria-label": t("practice.title") }, corner(() => this.build()))),
      this.parts.now, this.parts.score, this.parts.drills);
    this.show();
  }

  show() {
    if (this.practice === undefined) return;
    if (this.practice === null) return this.elsewhere();
    const { drill, over, score } = this.practice;
    const how = [currentLanguage(), theme(), drill, over, this.wanted];
    redrawOn(this.parts.now, how, () => this.now());
    redrawOn(this.parts.score, [how, over ? score : null], () => (drill && over && !this.wanted ? scored(drill, score) : null));
    redrawOn(this.parts.drills, how, () => this.drills());
  }

  /** On a rig nobody practises: which drills there are, and where to begin one. */
  elsewhere() {
    const card = (name) => el("article", {}, el("h3", {}, t(`practice.${name}`)), el("p", {}, t(`practice.${name}_about`)));
    redrawOn(this.parts.now, [currentLanguage()], () => [el("p", { class: "story" }, t("practice.elsewhere")), el("p", {}, t("practice.elsewhere_how"))]);
    redrawOn(this.parts.drills, [currentLanguage()], () => [el("h2", {}, t("practice.drills")), el("div", { class: "cards" }, DRILLS.map(card))]);
  }

  now() {
    const { drill, over } = this.practice;
    if (this.wanted) return el("p", { class: "story", role: "status" }, t("practice.setting_up"));
    if (!drill || over) return el("p", { class: "story" }, t("practice.intro"));
    return [el("h2", {}, t(`practice.${drill}`)), el("p", { class: "story" }, t(`practice.${drill}_story`)), el("p", {}, t("practice.how")), el("a", { class: "large", href: "/" }, t("practice.go"))];
  }

  drills() {
    const card = (name) => el("article", {}, el("h3", {}, t(`practice.${name}`)), el("p", {}, t(`practice.${name}_about`)),
      el("button", { type: "button", onclick: () => this.begin(name), disabled: Boolean(this.wanted) }, t(name === this.practice.drill ? "practice.again" : "practice.begin")));
    return [el("h2", {}, t("practice.drills")), el("div", { class: "cards" }, DRILLS.map(card))];
  }

  async begin(name) {
    this.wanted = name;
    this.practice = { ...this.practice, passed_s: Infinity };
    this.show();
    await fetch("/api/practice/begin", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ drill: name }) }).catch(() => null);
  }
}

function scored(drill, { points, of, goals }) {
  const good = goals.filter((goal) => goal.met);
  const next = goals.filter((goal) => !goal.met);
  const list = (some, how) => el("ul", {}, some.map((goal) => el("li", {}, t(`practice.${how}_${goal.key}`))));
  const word = points === of ? "all" : points >= of / 2 ? "most" : "some";
  return [
    el("h2", {}, t(`practice.word_${word}`)), el("p", { class: "points" }, t("practice.points", { points, of })),
    good.length ? [el("h3", {}, t("practice.good")), list(good, "good")] : null,
    next.length ? [el("h3", {}, t("practice.next")), list(next, "next")] : null,
    el("p", {}, t(`practice.${drill}_lesson`)),
  ].flat().filter(Boolean);
}

async function fetched(url) {
  const answer = await fetch(url, { cache: "no-store" });
  if (!answer.ok) throw new Error(String(answer.status));
  return answer.json();
}
