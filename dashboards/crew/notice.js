// What covers the page: silence from the monitor, and the road.

import { el, setText } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";

/** Over everything, open sheets too, after three seconds without a word, with what to do meanwhile. */
export class Silence {
  constructor() {
    this.title = el("h2", { class: "cover-title", id: "silence-title" });
    this.do = el("p", { class: "cover-do" });
    this.meanwhile = el("p", {});
    this.trying = el("p", { class: "cover-small" });
    this.node = el("dialog", { class: "cover silence", role: "alertdialog", "aria-labelledby": "silence-title", "aria-live": "assertive", tabindex: "-1" },
      this.title, this.do, this.meanwhile, this.trying);
    this.node.addEventListener("cancel", (event) => event.preventDefault());
  }

  show(live) {
    const silent = live.silent();
    if (silent) this.write(live);
    if (silent && !this.node.open) this.node.showModal();
    if (!silent && this.node.open) this.node.close();
    return silent;
  }

  write(live) {
    const ever = live.everHeard();
    setText(this.title, ever ? t("silence.title", { time: say.age(live.sinceHeard_s()) }) : t("silence.never"));
    setText(this.do, t("silence.do"));
    setText(this.meanwhile, t("silence.meanwhile"));
    setText(this.trying, t("silence.trying"));
  }
}

/** While the rig moves: next to nothing to look at, until somebody says he is not the driver. */
export class Towing {
  constructor(onChange) {
    this.passenger = false;
    this.title = el("h2", { class: "cover-title", id: "towing-title" });
    this.do = el("p", { class: "cover-do" });
    this.heavy = el("p", { class: "cover-heavy" });
    this.button = el("button", { class: "job", type: "button", onclick: () => this.letIn(onChange) });
    this.node = el("section", { class: "cover towing", "aria-labelledby": "towing-title", hidden: true }, this.title, this.do, this.heavy, this.button);
  }

  letIn(onChange) {
    this.passenger = true;
    onChange();
  }

  show(state) {
    const moving = state.motion === true;
    if (!moving) this.passenger = false;
    const covered = moving && !this.passenger;
    if (covered) this.write(state);
    if (this.node.hidden === covered) this.node.hidden = !covered;
    return covered;
  }

  write({ forecast, rig, alarms }) {
    setText(this.title, t("towing.title"));
    setText(this.do, t("towing.do"));
    setText(this.button, t("towing.show"));
    const heavy = alarms.some((a) => a.alarm === "tow-heavy") && forecast.volume_l !== null && rig.tow_limit_l !== null;
    setText(this.heavy, heavy ? t("towing.heavy", { volume: say.volume(forecast.volume_l, forecast.volume_sd_l), weight: say.weight(forecast.volume_l) }) : "");
  }
}
