// The day's water as a fan: the middle of what may come, half of the days around it, nine of ten around that.

import * as say from "../crew/say.js";
import { el, svg } from "../shared/dom.js";
import { t } from "../shared/words.js";

const WIDE = 800;
const HIGH = 340;
const LEFT = 92;
const BOTTOM = 300;
const TOP = 16;

export function fan({ fan: bands, tank }) {
  const ends_s = Math.max(bands[bands.length - 1][0], 600);
  const x = (at_s) => LEFT + ((WIDE - LEFT - 12) * at_s) / ends_s;
  const y = (litres) => BOTTOM - ((BOTTOM - TOP) * litres) / tank.capacity_l;
  const band = (low, high, name) => svg("polygon", { class: name, points: [...bands.map((b) => `${x(b[0])},${y(b[high])}`), ...[...bands].reverse().map((b) => `${x(b[0])},${y(b[low])}`)].join(" ") });
  const mark = (litres, key) => [
    svg("line", { class: `mark ${key}`, x1: LEFT, x2: WIDE - 12, y1: y(litres), y2: y(litres) }),
    svg("text", { class: "label", x: LEFT - 6, y: y(litres) + 5, "text-anchor": "end" }, say.volume(litres)),
    svg("text", { class: "label", x: LEFT + 6, y: y(litres) - 5 }, t(`plan.mark_${key}`)),
  ];
  return el("figure", { class: "fan" },
    svg("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": t("plan.picture") },
      band(1, 5, "most"), band(2, 4, "half"),
      svg("polyline", { class: "middle", points: bands.map((b) => `${x(b[0])},${y(b[3])}`).join(" ") }),
      mark(tank.full_l, "full"), mark(tank.heel_l, "heel"), hours(ends_s, x)),
    el("figcaption", {}, t("plan.caption")));
}

function hours(ends_s, x) {
  const step_h = ends_s > 8 * 3600 ? 2 : ends_s > 2.5 * 3600 ? 1 : 0.5;
  const many = Math.floor(ends_s / 3600 / step_h);
  return Array.from({ length: many + 1 }, (_, n) => n * step_h * 3600).map((at_s) => [
    svg("line", { class: "tick", x1: x(at_s), x2: x(at_s), y1: BOTTOM, y2: BOTTOM + 6 }),
    svg("text", { class: "label", x: x(at_s), y: BOTTOM + 24, "text-anchor": at_s ? "middle" : "start" }, at_s ? say.counted(at_s) : t("plan.begin")),
  ]);
}
