// A sheet over the page: one at a time, closed by its button, by Escape, or when its work is done.

import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";

export class Sheet {
  constructor(onClose) {
    this.title = el("h2", { class: "sheet-title", id: "sheet-title" });
    this.body = el("div", { class: "sheet-body" });
    this.closer = el("button", { class: "job sheet-close", type: "button", onclick: () => this.close() });
    this.node = el("dialog", { class: "sheet", "aria-labelledby": "sheet-title" }, el("header", { class: "sheet-head" }, this.title, this.closer), this.body);
    this.node.addEventListener("close", onClose);
  }

  open(title, ...content) {
    this.title.textContent = title;
    this.closer.textContent = t("act.close");
    this.body.replaceChildren(...content.flat().filter(Boolean));
    if (!this.node.open) this.node.showModal();
    this.body.scrollTop = 0;
  }

  close() {
    if (this.node.open) this.node.close();
    this.body.replaceChildren();
  }
}

/** A large button for what is used on the job. */
export function job(words, onclick, props = {}) {
  return el("button", { class: "job", type: "button", onclick, ...props }, el("span", {}, words));
}
