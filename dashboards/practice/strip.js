// The banner over the crew page in practice, and what a new hand can do there with his hands.

import { el, redrawOn } from "../shared/dom.js";
import { banner } from "../shared/practice.js";
import { currentLanguage, t } from "../shared/words.js";

export class Strip {
  constructor() {
    this.said = el("p", { class: "practice-said", role: "status" });
    this.hands = el("div", { class: "practice-hands" });
    this.dialog = el("dialog", { class: "practice-dialog", "aria-labelledby": "practice-what" });
    this.banner = el("div", {});
    this.node = el("div", { hidden: true }, this.banner, this.dialog);
  }

  show(practice) {
    this.node.hidden = !practice;
    if (!practice) return;
    const { drill, over, hands } = practice;
    const lead = drill && !over
      ? el("button", { type: "button", onclick: () => this.open(hands) }, t("practice.what"))
      : el("a", { href: "/practice" }, t(over ? "practice.see" : "practice.choose"));
    redrawOn(this.banner, [drill, over, currentLanguage()], () => banner(lead));
  }

  open(hands) {
    this.said.textContent = "";
    const touch = (hand) => el("button", { type: "button", onclick: () => this.do(hand) }, t(`practice.hand_${hand}`));
    this.dialog.replaceChildren(el("h2", { id: "practice-what" }, t("practice.what")), el("p", {}, t("practice.page_too")), this.said,
      el("div", { class: "practice-hands" }, hands.map(touch)), el("button", { type: "button", class: "practice-close", onclick: () => this.dialog.close() }, t("practice.close")));
    if (!this.dialog.open) this.dialog.showModal();
  }

  async do(hand) {
    const answer = await fetch("/api/practice/do", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ hand }) }).catch(() => null);
    this.said.textContent = answer && answer.ok ? t(`practice.found_${hand}`) : t("practice.not_done");
  }
}
