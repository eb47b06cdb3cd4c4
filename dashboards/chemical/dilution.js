// The dilution, its arithmetic shown in full: strength times volume stays the same.

import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { figure, unitOf } from "./amounts.js";

const FIELDS = [["want", "5"], ["wanted", "3"], ["stock", "12.5"]];

export class Dilution {
  constructor() {
    this.values = Object.fromEntries(FIELDS);
  }

  build(units) {
    this.units = units;
    this.said = el("p", { class: "sum", role: "status" });
    const fields = FIELDS.map(([key]) => el("p", { class: "field" }, el("label", { for: `dilute-${key}` }, t(`chemical.dilute_${key}`, { unit: unitOf(units) })),
      el("input", { type: "text", inputmode: "decimal", id: `dilute-${key}`, value: this.values[key], oninput: (event) => { this.values[key] = event.target.value; this.show(); } })));
    this.show();
    return el("section", { class: "dilution" }, el("h2", {}, t("chemical.dilute")), el("div", { class: "form" }, fields), this.said, el("p", { class: "soft" }, t("chemical.dilute_how")));
  }

  show() {
    const [want, wanted, stock] = FIELDS.map(([key]) => Number(this.values[key].replace(",", ".")));
    this.said.textContent = sum(want, wanted, stock, unitOf(this.units));
  }
}

export function sum(want, wanted, stock, unit) {
  if (!(want > 0 && wanted > 0 && stock > 0)) return t("chemical.dilute_more");
  if (wanted > stock) return t("chemical.dilute_weaker");
  const strong = (wanted * want) / stock;
  const amount = (value) => `${figure(value, 2)} ${unit}`;
  return t("chemical.dilute_said", { wanted: figure(wanted, 1), stock: figure(stock, 1), want: amount(want), strong: amount(strong), water: amount(want - strong) });
}
