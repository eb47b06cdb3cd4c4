// The owner's page: asks the monitor once a second and shows what it says.

import { el, redrawOn } from "../shared/dom.js";
import { corner } from "../shared/corner.js";
import { theme } from "../shared/theme.js";
import { chosenLanguage, currentLanguage, loadWords, t } from "../shared/words.js";
import { amount, units, useUnits } from "./amounts.js";
import { calibration } from "./calibrate.js";
import { checklist, computer, dropped, faults, feeds, gains, nodes, rejects, signals } from "./tables.js";
import { upkeep } from "./upkeep.js";

const EVERY_MS = 1000;
const SILENT_MS = 4000;

export class OwnerPage {
  constructor(root) {
    this.root = root;
    this.heard_ms = performance.now();
    this.parts = {};
  }

  async start() {
    await this.ask();
    setInterval(() => this.ask(), EVERY_MS);
  }

  async ask() {
    try {
      const [state, owner] = await Promise.all([fetched("/api/state"), fetched("/api/owner")]);
      this.heard_ms = performance.now();
      if (!this.state) {
        useUnits(state.rig.units);
        await loadWords(chosenLanguage(state.rig.language));
      }
      [this.state, this.owner] = [state, owner];
      this.show();
    } catch {
      if (this.parts.silent) this.parts.silent.hidden = performance.now() - this.heard_ms < SILENT_MS;
    }
  }

  show() {
    if (!this.parts.top) this.build();
    const { state, owner, parts } = this;
    const how = [currentLanguage(), units(), theme()];
    document.title = `${t("owner.title")} · ${state.rig.name}`;
    parts.silent.hidden = true;
    parts.silent.textContent = t("owner.silent");
    redrawOn(parts.top, [how, state.rig.name, this.volume()], () => this.top());
    redrawOn(parts.faults, [how, state.faults], () => faults(state.faults));
    redrawOn(parts.checklist, [how, owner.checklist], () => checklist(owner.checklist));
    redrawOn(parts.signals, [how, owner.signals], () => signals(owner.signals));
    redrawOn(parts.nodes, [how, owner.nodes, owner.feeds], () => [...nodes(owner.nodes), ...feeds(owner.feeds)]);
    redrawOn(parts.rejects, [how, owner.rejects, owner.unknown_names, state.dropped, state.journal.dropped],
      () => [...rejects(owner.rejects, owner.unknown_names), dropped(state)]);
    redrawOn(parts.computer, [how, owner.computer], () => computer(owner.computer));
    redrawOn(parts.upkeep, [how, owner.upkeep, owner.hours, owner.season], () => upkeep(owner, (service) => this.serviced(service)));
    redrawOn(parts.gains, [how, owner.gains], () => gains(owner.gains[currentLanguage()][units()]));
    calibration(parts.calibration, how, owner, (body) => this.calibrate(body));
  }

  build() {
    const part = (name) => (this.parts[name] = el("section", { class: name }));
    this.parts.top = el("header", { class: "top" });
    this.parts.silent = el("p", { class: "silent", role: "status", hidden: true });
    const names = ["faults", "checklist", "signals", "nodes", "calibration", "rejects", "upkeep", "computer", "gains"];
    this.root.replaceChildren(this.parts.top, this.parts.silent, ...names.map(part));
  }

  volume() {
    const { volume_l, volume_sd_l } = this.state.forecast;
    if (volume_l === null) return t("owner.no_volume");
    return t("owner.volume", { volume: amount(volume_l, "volume"), spread: amount(2 * volume_sd_l, "volume") });
  }

  top() {
    const button = (key, press) => el("button", { type: "button", onclick: () => press() }, t(key));
    return [
      el("div", {}, el("h1", { class: "heading" }, `${this.state.rig.name} · ${t("owner.title")}`), el("p", { class: "now" }, this.volume())),
      el("nav", { class: "tools" },
        button(units() === "us" ? "owner.metric" : "owner.us", () => this.units()),
        corner(() => this.show())),
    ];
  }

  units() {
    useUnits(units() === "us" ? "metric" : "us");
    this.show();
  }

  async serviced(service) {
    await fetch("/api/act", {
      method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ act: "serviced", by: "owner page", service }),
    });
    await this.ask();
  }

  /** Sends one step; what was refused comes back as a sentence. */
  async calibrate(body) {
    const answer = await fetch("/api/owner/calibrate", {
      method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body),
    });
    const said = answer.ok ? "" : await answer.json().then((why) => `${why.error} ${why.do}`);
    await this.ask();
    return said;
  }
}

async function fetched(url) {
  const answer = await fetch(url);
  if (!answer.ok) throw new Error(`${url} answered ${answer.status}`);
  return answer.json();
}
