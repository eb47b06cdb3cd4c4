// Each pump and the tap: a shape, a name, what it does and how much.

import { el, redrawOn, svg } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";

const LONG_NAME = 14; // longer ones get the room of what stands beside them
const MANY = 6;

// one shape for each state, so that none is told by colour or place alone
const SHAPES = {
  draws: [["path", { d: "M4,6 L28,16 L4,26 Z", class: "solid" }]],
  bypass: [["path", { d: "M26,10 A11,11 0 1 0 27,18", class: "line" }], ["path", { d: "M30,4 L28,15 L18,10 Z", class: "solid" }]],
  off: [["rect", { x: 6, y: 6, width: 20, height: 20, class: "line" }]],
  unknown: [["circle", { cx: 16, cy: 16, r: 12, class: "line dashed" }]],
  flowing: [["path", { d: "M16,3 C22,13 26,17 26,21 A10,10 0 0 1 6,21 C6,17 10,13 16,3 Z", class: "solid" }]],
  none: [["path", { d: "M16,3 C22,13 26,17 26,21 A10,10 0 0 1 6,21 C6,17 10,13 16,3 Z", class: "line" }], ["path", { d: "M4,28 L28,4", class: "line" }]],
  closed: [["path", { d: "M16,3 C22,13 26,17 26,21 A10,10 0 0 1 6,21 C6,17 10,13 16,3 Z", class: "line" }]],
  absent: [["path", { d: "M6,16 H26", class: "line" }]],
};

function shape(name) {
  const parts = (SHAPES[name] || SHAPES.unknown).map(([tag, props]) => svg(tag, props));
  return svg("svg", { viewBox: "0 0 32 32", class: "pump-shape", "aria-hidden": "true" }, parts);
}

export class Pumps {
  constructor() {
    this.list = el("ul", { class: "pumps" });
    this.node = this.list;
    new ResizeObserver(() => this.pack()).observe(this.list);
  }

  show(state) {
    const rows = [...state.pumps.map(pumpRow), tapRow(state)];
    const sum = blurredSum(state);
    this.list.setAttribute("aria-label", t("pump.group"));
    this.list.setAttribute("data-rows", String(rows.length));
    this.rows = rows.length;
    this.summed = sum !== "";
    this.pack();
    redrawOn(this.list, [rows, sum], () => [...rows.map(drawnRow), sum ? el("li", { class: "pump pump-sum" }, sum) : null]);
  }

  /** Name and doing go on one line where there is no height for two, and are larger where there is plenty. */
  pack() {
    const box = this.list.getBoundingClientRect();
    const style = getComputedStyle(this.list);
    const columns = style.display === "grid" ? 2 : 1;
    const lines = Math.ceil((this.rows || 1) / columns) + (this.summed ? 1 : 0);
    const perRow = box.height / lines / parseFloat(style.fontSize);
    const low = box.height > 0 && perRow < 2.45;
    const asked = (name) => style.getPropertyValue(name).trim() === "1";
    const many = asked("--many") && this.rows > MANY;
    Object.assign(this.list.dataset, { dense: low || many || asked("--dense"), many, roomy: perRow > 3.3 });
    this.list.style.setProperty("--lines", lines);
  }
}

function drawnRow(row) {
  return el("li", { class: row.tap ? "pump pump-of-tap" : "pump", "data-state": row.state, "data-certain": String(row.certain) },
    shape(row.state),
    el("span", { class: "pump-name", "data-long": String(row.name.length > LONG_NAME) }, row.name),
    el("span", { class: "pump-does" }, row.does),
    row.aside ? el("span", { class: row.counted ? "pump-aside pump-today" : "pump-aside" }, row.aside) : null);
}

/** What one pump's row says. */
export function pumpRow(pump) {
  const guessed = !pump.certain && pump.state !== "unknown";
  const today = pump.running_s_today >= 60 && pump.name.length <= LONG_NAME ? t("pump.today", { time: say.counted(pump.running_s_today) }) : "";
  return {
    name: pump.name,
    state: pump.state,
    certain: pump.certain,
    does: doesWhat(pump),
    aside: guessed ? t("pump.perhaps") : today,
    counted: !guessed && today !== "",
  };
}

function doesWhat(pump) {
  if (pump.state !== "draws") return t(`pump.${pump.state}`);
  if (pump.draw_l_min === null) return t("pump.draws_some");
  return t("pump.draws", { flow: say.flow(pump.draw_l_min, !pump.certain) });
}

export function tapRow({ supply, forecast }) {
  const range = supply.tap_range_l_min;
  const flowing = supply.state === "flowing";
  return {
    tap: true,
    name: t("tap.name"),
    state: supply.state,
    certain: supply.state !== "unknown",
    does: flowing ? t("tap.flowing", { flow: say.flow(forecast.inflow_l_min) }) : t(`tap.${supply.state}`),
    aside: range ? t("tap.range", { lo: say.flow(range[0], false, false), hi: say.flow(range[1]) }) : "",
  };
}

/** Where the split between pumps can't be told, the sum is said and no split invented. */
function blurredSum({ pumps, forecast }) {
  const blurred = pumps.some((p) => p.state !== "off" && p.draw_l_min === null);
  return blurred && forecast.draw_sum_l_min !== null ? t("pump.sum", { flow: say.flow(forecast.draw_sum_l_min) }) : "";
}
