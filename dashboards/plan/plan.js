// The plan of the day: what is asked on one side, what to expect on the other, asked again with every touch.

import * as say from "../crew/say.js";
import { el, setText } from "../shared/dom.js";
import { corner } from "../shared/corner.js";
import { fitLetters } from "../shared/theme.js";
import { chosenLanguage, currentLanguage, firstWords, loadWords, pause, t } from "../shared/words.js";
import { fan } from "./fan.js";
import { Question } from "./question.js";
import { figures, headline } from "./told.js";

const SETTLES_MS = 120, PATIENCE_MS = 20_000;

export class PlanPage {
  constructor(root) {
    this.root = root;
    this.asking = false;
    this.again = false;
  }

  async start() {
    fitLetters();
    await firstWords(chosenLanguage(document.documentElement.lang));
    const first = await this.first();
    say.setUnits(first.rig.units);
    this.units = first.rig.units;
    const language = chosenLanguage(first.rig.language);
    if (language !== currentLanguage()) await loadWords(language);
    this.question = new Question(first, () => this.changed());
    this.answer = first;
    this.build();
    this.ask();
  }

  /** For the tap as it was seen, or for none; asked until an answer comes. */
  async first() {
    for (;;) {
      const answer = await this.fetched(new URLSearchParams()) || await this.fetched(new URLSearchParams({ tap: "0 gpm" }));
      if (answer) return answer;
      setText(this.root, t("plan.silent"));
      await pause();
    }
  }

  build() {
    document.title = t("plan.title");
    this.said = el("section", { class: "said", "aria-live": "polite" });
    this.refused = el("p", { class: "refused", role: "alert", hidden: true });
    this.root.replaceChildren(
      el("header", {}, el("h1", { class: "heading" }, t("plan.title")), el("div", { class: "tools" },
        el("a", { class: "button", href: "/chemical" }, t("plan.to_chemical")),
        el("button", { type: "button", onclick: () => this.useUnits() }, t(`plan.units_${this.units === "us" ? "metric" : "us"}`)),
        corner(() => this.build()))),
      this.refused, el("div", { class: "sheet" }, this.said, this.question.build()),
    );
    this.show();
  }

  show() {
    this.said.replaceChildren(...headline(this.answer), fan(this.answer), figures(this.answer));
  }

  changed() {
    clearTimeout(this.settling);
    this.settling = setTimeout(() => this.ask(), SETTLES_MS);
  }

  /** One question at a time; what was changed meanwhile is asked next. */
  async ask() {
    if (this.asking) { this.again = true; return; }
    this.asking = true;
    const answer = await this.fetched(this.question.asked());
    this.asking = false;
    if (answer) { this.answer = answer; this.show(); }
    if (this.again) { this.again = false; this.ask(); }
  }

  async fetched(asked) {
    try {
      const answer = await fetch(`/api/plan?${asked}`, { signal: AbortSignal.timeout(PATIENCE_MS) });
      const said = await answer.json();
      this.refuse(answer.ok ? "" : said.error);
      return answer.ok ? said : null;
    } catch {
      this.refuse(t("plan.silent"));
      return null;
    }
  }

  refuse(words) {
    if (!this.refused) return;
    this.refused.hidden = !words;
    setText(this.refused, words);
  }

  useUnits() {
    this.units = this.units === "us" ? "metric" : "us";
    say.setUnits(this.units);
    this.build();
  }
}
