// What is written on the picture: the marks of the tank, and the time along its foot.

import { svg } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";
import { BACK_S, note } from "./view.js";

/** Heel, band, tow and full marks, with their words inside the tank where it is large enough for words. */
export function marks(view, state) {
  const { rig } = state;
  const group = svg("g", { class: "marks" });
  const f = view.fontPx;
  const heelTop = view.y(rig.heights.heel_m);
  if (rig.heights.band_m) group.append(band(view, rig));
  for (const [height_m, litres, key] of [[rig.heights.full_m, rig.full_l, "picture.full"], [rig.heights.tow_m, rig.tow_limit_l, "picture.tow"]]) {
    if (typeof height_m === "number") group.append(tick(view, height_m, t(key, { volume: say.volume(litres) })));
  }
  const y = view.small ? heelTop - f * 0.4 : Math.min(view.bottom - f * 0.35, (view.bottom + heelTop) / 2 + f * 0.35);
  const room = view.width - view.right > 15 * f;
  group.append(note(view.width - 6, y, t(room ? "picture.heel" : "picture.heel_short"), f, "end", "bold"));
  return group;
}

function wall(view, height_m) {
  return view.half(view.tank.halfWidth_m(height_m));
}

/** The working band, as a bracket inside the tank's left wall. */
function band(view, rig) {
  const f = view.fontPx;
  const [low, high] = rig.heights.band_m;
  const x = view.middle - Math.min(wall(view, low), wall(view, high)) * 0.8;
  const ticks = [rig.heights.full_m, rig.heights.tow_m].filter((h) => typeof h === "number").map(view.y);
  const clear = (h) => 2 * wall(view, h) > 17 * f || ticks.every((y) => Math.abs(y - view.y(h)) > 1.2 * f);
  const shown = view.small ? [] : rig.band_l.map((v, i) => [rig.heights.band_m[i], say.volume(v)]).filter(([h]) => clear(h));
  return svg("g", {},
    svg("path", { class: "band", d: `M${x + f * 0.6},${view.y(low)}H${x}V${view.y(high)}H${x + f * 0.6}` }),
    shown.map(([h, text]) => note(x + f * 0.9, view.y(h) + f * 0.35, text, f, "start", "bold")));
}

function tick(view, height_m, words) {
  const f = view.fontPx;
  const y = view.y(height_m);
  const edge = view.middle + wall(view, height_m);
  return svg("g", {},
    svg("path", { class: "mark", d: `M${edge - f},${y}H${edge + f * 0.5}` }),
    view.small ? null : note(edge - f * 1.3, y + f * 0.35, words, f, "end", "bold"));
}

export function timeAxis(view) {
  const y = view.bottom + view.fontPx * 1.25;
  const group = svg("g", { class: "axis" });
  const back = BACK_S / 60;
  for (const n of view.left > 12 * view.fontPx ? [back, back / 2] : [back]) {
    group.append(note(Math.max(view.xPast(n * 60), 2), y, `−${n}${n === back ? ` ${t("picture.minutes")}` : ""}`, view.fontPx, n === back ? "start" : "middle"));
  }
  group.append(note(view.middle, y, t("picture.now"), view.fontPx, "middle", "bold"));
  for (const n of view.width - view.right > 20 * view.fontPx ? [15, 30, 45, 60] : [60]) {
    group.append(note(Math.min(view.xAhead(n * 60), view.width - 2), y, `+${n}${n === 60 ? ` ${t("picture.minutes")}` : ""}`, view.fontPx, n === 60 ? "end" : "middle"));
  }
  return group;
}
