// The pictures of the books, drawn in SVG; patterns and not colours tell pumps apart, so that they print in black.

import { el, svg } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { clock, unit } from "./figures.js";

const WIDE = 900;
const HIGH = 260;
const LEFT = 64;
const TOP = 12;
const BOTTOM = 218;
const SHADES = 6;

function frame(label, ...kids) {
  return svg("svg", { class: "chart", viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": label }, kids);
}

function steps(most) {
  const rough = most / 4;
  const ten = 10 ** Math.floor(Math.log10(rough || 1));
  const step = [1, 2, 5, 10].map((n) => n * ten).find((each) => each >= rough) || 1;
  return Array.from({ length: Math.floor(most / step + 1e-9) + 1 }, (_, n) => n * step);
}

/** Lines across with what they stand for; `per` turns what is drawn into what is shown. */
function grid(y, most, per) {
  return steps(most / per).map((shown) => [
    svg("line", { class: "grid", x1: LEFT, x2: WIDE - 8, y1: y(shown * per), y2: y(shown * per) }),
    svg("text", { x: LEFT - 6, y: y(shown * per) + 4, "text-anchor": "end" }, String(Math.round(shown * 100) / 100)),
  ]);
}

const perUnit = () => (unit() === "gal" ? 3.785411784 : 1);

/** A month's water used, a bar for each day, the pumps one on another. */
export function dayBars(days, pumps, last) {
  const most = Math.max(1, ...days.map((day) => day.used_l)) * 1.05;
  const y = (litres) => BOTTOM - ((BOTTOM - TOP) * litres) / most;
  const wide = (WIDE - LEFT - 8) / last;
  const bars = days.flatMap((day) => {
    const x = LEFT + (Number(day.day.slice(8)) - 1) * wide;
    let stands = 0;
    return [...pumps.map((pump) => day.pumps_l[pump] || 0), day.untold_l].map((litres, n) => {
      const from = stands;
      stands += litres;
      return litres > 0 ? svg("rect", { class: `bar ${shade(n, pumps)}`, x: x + 2, width: Math.max(2, wide - 4), y: y(stands), height: y(from) - y(stands) }) : null;
    });
  });
  const names = Array.from({ length: last }, (_, n) => n + 1).filter((n) => n === 1 || n % 5 === 0);
  return el("figure", {},
    frame(t("books.chart_days"), grid(y, most, perUnit()), bars,
      names.map((n) => svg("text", { x: LEFT + (n - 0.5) * wide, y: BOTTOM + 18, "text-anchor": "middle" }, String(n)))),
    el("figcaption", {}, t("books.chart_days_said", { unit: unit() }), " ", key(pumps, days.some((day) => day.untold_l > 0.5))));
}

function shade(n, pumps) {
  return n < pumps.length ? `shade-${n % SHADES}` : "untold";
}

function key(pumps, untold) {
  const names = pumps.map((pump, n) => [pump, `shade-${n % SHADES}`]).concat(untold ? [[t("books.untold"), "untold"]] : []);
  return names.map(([name, cls]) => el("span", { class: "key" }, svg("svg", { viewBox: "0 0 16 16", width: 16, height: 16, "aria-hidden": "true" }, svg("rect", { class: `bar ${cls}`, width: 16, height: 16 })), ` ${name}`));
}

/** The water in the tank through a job, and where alarms began. */
export function waterLine({ water, job, rig, alarms }) {
  const span_s = Math.max(60, job.ended - job.began);
  const x = (at) => LEFT + ((WIDE - LEFT - 8) * (at - job.began)) / span_s;
  const y = (litres) => BOTTOM - ((BOTTOM - TOP) * litres) / rig.capacity_l;
  const line = water.map(([at, litres]) => `${x(at).toFixed(1)},${y(litres).toFixed(1)}`).join(" ");
  const mark = (litres, words) => [svg("line", { class: "mark", x1: LEFT, x2: WIDE - 8, y1: y(litres), y2: y(litres) }), svg("text", { x: WIDE - 10, y: y(litres) - 4, "text-anchor": "end" }, words)];
  const ticks = Array.from({ length: 5 }, (_, n) => job.began + (n * span_s) / 4);
  return el("figure", {},
    frame(t("books.chart_water"), grid(y, rig.capacity_l, perUnit()), mark(rig.full_l, t("books.full")), mark(rig.heel_l, t("books.heel")),
      svg("polyline", { class: "line", points: line }),
      alarms.filter((one) => one.begun >= job.began).map((one) => svg("path", { class: `flag ${one.priority}`, d: `M${x(one.begun)} ${BOTTOM}l-6 10h12z` })),
      ticks.map((at, n) => svg("text", { x: x(at), y: BOTTOM + 28, "text-anchor": n === 0 ? "start" : n === 4 ? "end" : "middle" }, clock(at, rig.timezone)))),
    el("figcaption", {}, t(water.length ? "books.chart_water_said" : "books.chart_water_gone", { unit: unit() })));
}

/** A tap's flow by hour of the day where the rig stands: the mean as a bar, least and most as a whisker. */
export function tapHours(hours) {
  const most = Math.max(1, ...hours.map((hour) => hour.high)) * 1.08;
  const y = (flow) => BOTTOM - ((BOTTOM - TOP) * flow) / most;
  const wide = (WIDE - LEFT - 8) / 24;
  const drawn = hours.map(({ hour, mean, low, high }) => {
    const middle = LEFT + (hour + 0.5) * wide;
    return [
      svg("rect", { class: "bar shade-1", x: middle - wide / 3, width: (2 * wide) / 3, y: y(mean), height: BOTTOM - y(mean) }),
      svg("path", { class: "whisker", d: `M${middle} ${y(low)}V${y(high)}M${middle - 5} ${y(low)}h10M${middle - 5} ${y(high)}h10` }),
    ];
  });
  return el("figure", {},
    frame(t("books.chart_tap"), grid(y, most, perUnit()), drawn,
      [0, 6, 12, 18, 23].map((hour) => svg("text", { x: LEFT + (hour + 0.5) * wide, y: BOTTOM + 18, "text-anchor": "middle" }, `${hour}:00`))),
    el("figcaption", {}, t("books.chart_tap_said", { unit: unit() === "gal" ? "gpm" : "L/min" })));
}
