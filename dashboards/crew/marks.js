// What is written on the picture: the marks of the tank, and the time along its foot.

import { svg } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";
import { LETTER, Labels } from "./labels.js";
import { BACK_S, SPREAD, note } from "./view.js";

/** Heel, band, tow and full marks, with their words inside the tank where they find a place. */
export function marks(view, state) {
  const { rig } = state;
  const labels = labelsFor(view, state);
  const group = svg("g", { class: "marks" });
  for (const [height_m, litres, key] of [[rig.heights.full_m, rig.full_l, "picture.full"], [rig.heights.tow_m, rig.tow_limit_l, "picture.tow"]]) {
    if (typeof height_m === "number") group.append(tick(view, labels, height_m, t(key, { volume: say.volume(litres) })));
  }
  if (rig.heights.band_m) group.append(band(view, labels, rig));
  if (labels && labels.doubt_y) group.append(...[labels.put(view.middle, labels.doubt_y, t("picture.uncertain"), "middle")].filter(Boolean));
  const fanned = state.forecast.dry_s && state.forecast.dry_s.p05 !== null;
  if (!view.small || !fanned) group.append(heelNote(view, rig)); // a fan would run through it
  return group;
}

/** What the words have to keep clear of; null where the tank is too small for words. */
function labelsFor(view, { forecast, rig }) {
  if (view.small) return null;
  const f = view.fontPx;
  const heel_y = view.y(rig.heights.heel_m);
  const { volume_l, volume_sd_l } = forecast;
  const labels = new Labels(view, [[heel_y, heel_y]]);
  if (volume_l === null) {
    const [half, tall] = [0.16, 0.4].map((part) => part * (view.bottom - view.top));
    const centre = (view.top + view.bottom) / 2;
    labels.keep(view.middle - half, centre - tall / 2, view.middle + half, centre + tall / 2); // the question mark
    return labels;
  }
  const doubtful = forecast.level_quality !== "good" && volume_sd_l;
  const spread_l = doubtful ? SPREAD * volume_sd_l : 0;
  const surface = [view.yVolume(volume_l + spread_l), view.yVolume(Math.max(volume_l - spread_l, 0))];
  labels.lines_y.push(surface);
  if (doubtful) labels.doubt_y = surface[0] - 0.7 * f;
  return labels;
}

function heelNote(view, rig) {
  const f = view.fontPx;
  const heelTop = view.y(rig.heights.heel_m);
  const y = view.small ? heelTop - f * 0.4 : Math.min(view.bottom - f * 0.35, (view.bottom + heelTop) / 2 + f * 0.35);
  const words = t("picture.heel");
  const room = LETTER * f * words.length < view.width - view.right - 12;
  return note(view.width - 6, y, room ? words : t("picture.heel_short"), f, "end", "bold");
}

function wall(view, height_m) {
  return view.half(view.tank.halfWidth_m(height_m));
}

/** The working band, as a bracket inside the tank's left wall. */
function band(view, labels, rig) {
  const f = view.fontPx;
  const [low, high] = rig.heights.band_m;
  const x = view.middle - Math.min(wall(view, low), wall(view, high)) * 0.8;
  const words = rig.band_l.map((litres, i) => labels && labels.put(x + f * 0.9, view.y(rig.heights.band_m[i]), say.volume(litres), "start"));
  return svg("g", {}, svg("path", { class: "band", d: `M${x + f * 0.6},${view.y(low)}H${x}V${view.y(high)}H${x + f * 0.6}` }), words);
}

function tick(view, labels, height_m, words) {
  const f = view.fontPx;
  const y = view.y(height_m);
  const edge = view.middle + wall(view, height_m);
  return svg("g", {},
    svg("path", { class: "mark", d: `M${edge - f},${y}H${edge + f * 0.5}` }),
    labels && labels.put(edge - f * 1.3, y, words, "end"));
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
