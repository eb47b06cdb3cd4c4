// Every fault this rig can have, in words; a click throws it, another lifts it.

import { el, setAttr } from "../shared/dom.js";
import { t } from "../shared/words.js";

const GROUPS = {
  level: ["level-stuck", "level-lost", "level-drifts", "level-jumps", "false-echo", "level-out-of-range"],
  meter: ["meter-dead", "meter-stuck", "meter-slips", "meter-over-reads", "meter-lost", "meter-reset", "meter-jumps"],
  nodes: ["signal-stuck", "reading-lost", "node-reboots", "node-lost", "backlog", "clock-wrong", "lossy-air"],
  pumps: ["bypass-left", "outlet-shut", "strainer-blocked", "pump-weak", "pump-fast"],
};

export class Faults {
  constructor(send) {
    this.send = send;
    this.node = el("section", { class: "faults" });
    this.buttons = new Map();
  }

  /** Built once for a rig and a language: a list that is open is not closed by the next answer. */
  show(day) {
    const shown = JSON.stringify([day.about.faults, document.documentElement.lang]);
    if (this.shown !== shown) this.build(day.about.faults);
    this.shown = shown;
    for (const [name, { button, select }] of this.buttons) {
      const on = day.now.faults_on.includes(name);
      setAttr(button, "aria-pressed", String(on));
      if (select) select.disabled = on;
    }
  }

  build(faults) {
    this.buttons.clear();
    const grouped = new Set(Object.values(GROUPS).flat());
    const water = Object.keys(faults).filter((name) => !grouped.has(name));
    const groups = Object.entries({ ...GROUPS, water }).map(([group, names]) => [group, names.filter((name) => name in faults)]);
    this.node.replaceChildren(el("h2", {}, t("bench.faults")), ...groups.filter(([, names]) => names.length).map(([group, names]) =>
      el("div", { class: "group" }, el("h3", {}, t(`bench.group.${group}`)), el("ul", {}, names.map((name) => this.row(name, faults[name]))))));
  }

  row(name, choices) {
    const [key, named] = Object.entries(choices)[0] || [null, []];
    const select = named.length < 2 ? null : el("select", { "aria-label": t("bench.at", { fault: t(`bench.fault.${name}`) }) },
      named.map((each) => el("option", { value: each }, each || t("bench.all"))));
    const button = el("button", { type: "button", "aria-pressed": "false", onclick: () => this.click(name, key, select) }, t(`bench.fault.${name}`));
    this.buttons.set(name, { button, select });
    return el("li", {}, button, select);
  }

  click(name, key, select) {
    const on = this.buttons.get(name).button.getAttribute("aria-pressed") !== "true";
    const at = on && select && select.value ? { [key]: select.value } : {};
    return this.send("fault", { what: name, on, ...at });
  }
}
