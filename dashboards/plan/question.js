// What is asked: the tap in one of four ways, the water, the hours, the kind of work, the pumps.

import * as say from "../crew/say.js";
import { el, setText } from "../shared/dom.js";
import { t } from "../shared/words.js";

const WAYS = ["word", "bucket", "flowing", "static"];
const BUCKET_L = 18.92705892; // five gallons
const MOST_L_MIN = 76;
const BORES_IN = ["1/2", "5/8", "3/4", "1"];
const LENGTHS_FT = ["25", "50", "75", "100", "150"];

export class Question {
  constructor(first, changed) {
    this.first = first;
    this.changed = changed;
    this.sites = Object.keys(first.sites || {});
    this.way = "word";
    this.site = this.sites[0];
    this.flow_l_min = first.now.tap_l_min ?? first.tap.l_min;
    this.bucket_s = 60;
    this.psi = 40;
    this.bore_in = "5/8";
    this.length_ft = "50";
    this.water_l = first.now.volume_l ?? first.water_l;
    this.hours = 4;
    this.kind = "mixed";
    this.pumps = new Set(first.pumps);
  }

  asked() {
    const tap = this.way === "site" ? { site: this.site } : { tap: this.tap() };
    const asked = new URLSearchParams({ ...tap, water: this.water_l.toFixed(1), hours: String(this.hours), work: this.kind });
    for (const pump of this.pumps.size ? this.pumps : [""]) asked.append("pump", pump);
    return asked;
  }

  tap() {
    if (this.way === "word") return `${this.flow_l_min.toFixed(2)} l/min`;
    if (this.way === "bucket") return `5 gal in ${this.bucket_s} s`;
    return `${this.psi} psi ${this.way}, ${this.bore_in} in, ${this.length_ft} ft`;
  }

  build() {
    this.tapPlace = el("div", {});
    this.buildTap();
    const { heel_l, full_l } = this.first.tank;
    return el("section", { class: "asked", "aria-label": t("plan.asked") },
      this.choices("plan.tap", this.sites.length ? [...WAYS, "site"] : WAYS, () => this.way, (way) => t(`plan.way_${way}`), (way) => { this.way = way; this.buildTap(); }), this.tapPlace,
      this.slider("plan.water", heel_l, full_l, 5, "water_l", (l) => say.volume(l)),
      this.slider("plan.hours", 0.5, 12, 0.5, "hours", (h) => say.counted(3600 * h)),
      this.choices("plan.work", this.first.kinds, () => this.kind, (kind) => t(`plan.kind_${kind}`), (kind) => { this.kind = kind; }),
      this.pumpChoices());
  }

  buildTap() {
    const psi = (n) => t("plan.psi", { psi: say.whole(n), kpa: say.whole(n * 6.894757) });
    const gauge = () => [
      this.slider("plan.gauge", 5, 100, 1, "psi", psi),
      this.choices("plan.bore", BORES_IN, () => this.bore_in, (b) => `${b} in`, (b) => { this.bore_in = b; }),
      this.choices("plan.length", LENGTHS_FT, () => this.length_ft, (l) => t("plan.feet", { ft: l, m: say.whole(l * 0.3048) }), (l) => { this.length_ft = l; }),
    ];
    const ways = {
      word: () => [this.slider("plan.flow", 0, MOST_L_MIN, 0.5, "flow_l_min", (f) => say.flow(f))],
      bucket: () => [this.slider("plan.bucket", 15, 240, 1, "bucket_s", (s) => t("plan.bucket_s", { s: say.whole(s), volume: say.volume(BUCKET_L) })), el("p", { class: "note" }, t("plan.bucket_note"))],
      flowing: () => [...gauge(), el("p", { class: "note" }, t("plan.flowing_note"))],
      site: () => [this.choices("plan.site", this.sites, () => this.site, (site) => `${site} · ${say.flow(this.first.sites[site])}`, (site) => { this.site = site; }), el("p", { class: "note" }, t("plan.site_note"))],
      static: () => [...gauge(), el("p", { class: "note" }, t("plan.static_note"))],
    };
    this.tapPlace.replaceChildren(...ways[this.way]());
  }

  slider(key, low, high, step, name, words) {
    const shown = el("output", {}, words(this[name]));
    const input = el("input", { type: "range", min: low, max: high, step, value: this[name], "aria-label": t(key), oninput: (event) => {
      this[name] = Number(event.target.value);
      setText(shown, words(this[name]));
      input.setAttribute("aria-valuetext", shown.textContent);
      this.changed();
    } });
    input.setAttribute("aria-valuetext", shown.textContent);
    return el("div", { class: "slider" }, el("span", {}, t(key)), shown, input);
  }

  choices(key, values, now, words, choose) {
    const buttons = values.map((value) => el("button", { type: "button", "aria-pressed": String(value === now()), onclick: () => {
      choose(value);
      buttons.forEach((button, n) => button.setAttribute("aria-pressed", String(values[n] === now())));
      this.changed();
    } }, words(value)));
    return el("div", { class: "choices", role: "group", "aria-label": t(key) }, el("span", {}, t(key)), el("div", {}, buttons));
  }

  pumpChoices() {
    const buttons = this.first.pumps.map((name) => el("button", { type: "button", "aria-pressed": String(this.pumps.has(name)), onclick: (event) => {
      if (!this.pumps.delete(name)) this.pumps.add(name);
      event.target.setAttribute("aria-pressed", String(this.pumps.has(name)));
      this.changed();
    } }, name));
    return el("div", { class: "choices", role: "group", "aria-label": t("plan.pumps") }, el("span", {}, t("plan.pumps")), el("div", {}, buttons));
  }
}
