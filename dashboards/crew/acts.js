// What a person does: told to the monitor, and answered on the page.

import { el, setText } from "../shared/dom.js";
import { t } from "../shared/words.js";

const TOAST_MS = 5000;

export class Acts {
  constructor(post = toMonitor) {
    this.post = post;
    this.node = el("p", { class: "toast", role: "status" });
    this.home = el("div", {}, this.node);
  }

  /** Tells the monitor; true when it took it. `what` is the button's own words, for the answer. */
  async tell(act, what, more = {}) {
    try {
      const answer = await this.post({ act, by: "crew page", ...more });
      if (answer.ok) return this.say(t("act.done", { what }), true);
      const refused = await answer.json().catch(() => ({}));
      const texts = ["error", "do"].map((key) => (typeof refused[key] === "string" ? refused[key] : ""));
      return this.say(t("act.failed", { error: texts[0] || answer.status, do: texts[1] }), false);
    } catch {
      return this.say(t("act.unsent"), false);
    }
  }

  say(text, ok) {
    clearTimeout(this.timer);
    const over = document.querySelector("dialog.sheet[open]"); // an open sheet would hide it
    if (this.node.parentNode !== (over || this.home)) (over || this.home).append(this.node);
    setText(this.node, text);
    this.node.dataset.ok = String(ok);
    this.timer = setTimeout(() => setText(this.node, ""), ok ? TOAST_MS : 3 * TOAST_MS);
    return ok;
  }

  comeHome() {
    if (this.node.parentNode !== this.home) this.home.append(this.node);
  }
}

function toMonitor(body) {
  return fetch("/api/act", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
}
