// The one picture: water over time, with the tank itself standing at now.
// To its left what was; to its right what may come, a fan that runs down to the heel.

import { el, redrawOn, svg } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";
import { Tank, outlinePath } from "./tank.js";

const AHEAD_S = 3600;
const EVERY_MS = 1000;
const WIDEST = 0.46; // of the picture: the tank keeps its true proportions and leaves room for time
const SPREAD = 1.645; // standard deviations to the 5 % and 95 % points of a normal

export class Picture {
  constructor(onTap) {
    this.canvas = svg("svg", { "aria-hidden": "true", class: "picture-canvas" });
    this.node = el("button", { class: "picture", type: "button", onclick: onTap }, this.canvas);
    this.tankKey = null;
    this.drawn_ms = -Infinity;
    new ResizeObserver(() => this.draw()).observe(this.node);
  }

  show(state, past, back_s) {
    this.state = state;
    this.past = past;
    this.back_s = back_s;
    this.due = true;
    this.tick(kindOf(state, back_s) !== this.kind);
  }

  /** Drawn once a second, which is as fast as water moves by a pixel; at once when what it shows is of another kind. */
  tick(atOnce = false) {
    if (this.due && (atOnce || performance.now() - this.drawn_ms >= EVERY_MS)) this.draw();
  }

  draw() {
    const { width, height } = this.node.getBoundingClientRect();
    if (!this.state || width < 50 || height < 50) return;
    this.due = false;
    this.drawn_ms = performance.now();
    this.kind = kindOf(this.state, this.back_s);
    this.useTank(this.state.rig);
    const view = layout(this.tank, this.state, width, height, this.back_s);
    const key = [Math.round(width), Math.round(height), t("picture.now"), this.back_s, drawnFrom(this.state, this.past)];
    this.canvas.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.node.setAttribute("aria-label", `${described(this.state)} ${t("picture.tap")}`);
    redrawOn(this.canvas, key, () => drawn(view, this.state, this.past));
  }

  useTank(rig) {
    const key = JSON.stringify([rig.outline, rig.heights, rig.heel_l, rig.full_l, rig.capacity_l]);
    if (key === this.tankKey) return;
    this.tankKey = key;
    this.tank = new Tank(rig);
  }
}

function kindOf({ forecast, water, rig }, back_s) {
  const known = [forecast.volume_l === null, forecast.dry_s === null, forecast.dry_s && forecast.dry_s.p50 === null];
  return JSON.stringify([...known, forecast.level_quality, water.trend, rig.name, rig.units, back_s, t("picture.now")]);
}

function drawnFrom(state, past) {
  const { forecast, water, rig, supply } = state;
  const last = past.length ? past[past.length - 1][0] : 0;
  const coarse = (v) => (v === null || v === undefined ? v : Number(v.toPrecision(3)));
  return [coarse(forecast.volume_l), coarse(forecast.volume_sd_l), coarse(forecast.net_l_min), forecast.dry_s,
    forecast.level_quality, water.trend, coarse(water.full_in_s), rig.units, rig.name, supply.state, last, past.length];
}

function described(state) {
  const { forecast, water } = state;
  if (forecast.volume_l === null) return t("picture.alt_none");
  const dry = say.timeToDry(forecast.dry_s);
  const words = { dry: t("head.dry"), under: `${t("head.label_in")} ${t("time.under_two")}`, over: `${t("head.label_in")} ${t("time.over_hour")}`,
    about: `${t("head.label_about")} ${dry.minutes} ${t("time.unit_min")}`, none: t("picture.unknown") }[dry.kind];
  return t("picture.alt", {
    volume: say.volume(forecast.volume_l, forecast.volume_sd_l),
    trend: water.trend ? t(`head.${water.trend}`) : t("head.unknown"),
    forecast: `${words}.`,
  });
}

/** Where everything stands: one scale for height, and two for time, left and right of the tank. */
function layout(tank, state, width, height, back_s) {
  const fontPx = Math.max(12, Math.min(17, width / 46, height / 6.5));
  const bottom = height - fontPx * 1.7;
  const perM = Math.min((bottom - fontPx * 0.4) / tank.top_m, (width * WIDEST) / tank.widest_m());
  const top = bottom - tank.top_m * perM;
  const small = bottom - top < 9 * fontPx;
  const tankWidth = tank.widest_m() * perM;
  const pastWidth = (width - tankWidth) * 0.38;
  const y = (h) => bottom - h * perM;
  const left = pastWidth;
  const right = pastWidth + tankWidth;
  return {
    tank, width, height, top, bottom, left, right, small, fontPx, back_s,
    middle: (left + right) / 2,
    half: (m) => m * perM,
    y,
    yVolume: (volume_l) => y(tank.height_m(volume_l)),
    xPast: (ago_s) => left * (1 - Math.min(ago_s, back_s) / back_s),
    xAhead: (in_s) => right + ((width - right) * Math.min(in_s, AHEAD_S)) / AHEAD_S,
  };
}

function drawn(view, state, past) {
  return [
    hatches(),
    ground(view),
    pastArea(view, state, past),
    ahead(view, state),
    heelBand(view, state),
    tankItself(view, state),
    marks(view, state),
    timeAxis(view),
  ];
}

function hatches() {
  const lines = (id, gap, cls) =>
    svg("pattern", { id, width: gap, height: gap, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
      svg("path", { d: `M0,0V${gap}`, class: cls }));
  return svg("defs", {}, lines("heel-hatch", 10, "hatch-heel"), lines("doubt-hatch", 14, "hatch-doubt"));
}

function ground(view) {
  return svg("path", { class: "ground", d: `M0,${view.bottom}H${view.width}` });
}

function d(points) {
  return `M${points.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join("L")}`;
}

/** The past as filled runs; a gap in the readings is a gap in the picture. */
function pastArea(view, state, past) {
  const group = svg("g", { class: "past" });
  const runs = knownRuns(past.filter((p) => state.at - p[0] <= view.back_s && p[0] <= state.at));
  for (const run of runs) {
    const line = run.map(([at, volume_l]) => [view.xPast(state.at - at), view.yVolume(volume_l)]);
    const last = run === runs[runs.length - 1] && state.at - run[run.length - 1][0] < 60;
    if (last && state.forecast.volume_l !== null) line.push(...upToTheWall(view, state.forecast.volume_l));
    if (line.length < 2) continue;
    const [from, to] = [line[0][0], line[line.length - 1][0]];
    group.append(svg("path", { class: "water-past", d: `${d(line)}L${to.toFixed(1)},${view.bottom}L${from.toFixed(1)},${view.bottom}Z` }));
    group.append(svg("path", { class: "water-line", d: d(line) }));
  }
  if (!runs.length) group.append(note(view.left / 2, (view.top + view.bottom) / 2, t("picture.no_past"), view.fontPx, "middle"));
  return group;
}

function upToTheWall(view, volume_l) {
  const y = view.yVolume(volume_l);
  const wall = view.middle - view.half(view.tank.halfWidth_m(view.tank.height_m(volume_l)));
  return [[view.left, y], [wall, y]];
}

function knownRuns(points) {
  const runs = [];
  let run = [];
  for (const point of points) {
    if (point[1] === null) {
      if (run.length) runs.push(run);
      run = [];
    } else run.push(point);
  }
  if (run.length) runs.push(run);
  return runs;
}

/** What may come: falling as a fan to the heel, holding as a level band, rising as a fan to the full mark. */
function ahead(view, state) {
  const { forecast, water } = state;
  const group = svg("g", { class: "ahead" });
  if (forecast.volume_l === null) return unknownAhead(view, group);
  const sd = (forecast.volume_sd_l || 0) * SPREAD;
  const [low, middle, high] = paths(state, sd);
  if (!middle) return unknownAhead(view, group);
  const curve = (path) => path.map(([in_s, volume_l]) => [view.xAhead(in_s), view.yVolume(volume_l)]);
  const start = view.middle + view.half(view.tank.halfWidth_m(view.tank.height_m(forecast.volume_l)));
  const y = view.yVolume(forecast.volume_l);
  group.append(svg("path", { class: "fan", d: `${d([...curve(high), ...corner(view, state, high), ...curve(low).reverse()])}Z` }));
  group.append(svg("path", { class: "fan-bridge", d: d([[start, y], [view.right, y]]) }));
  group.append(svg("path", { class: "fan-middle", d: d(curve(middle)) }));
  if (water.trend === "falling" && forecast.dry_s && forecast.dry_s.p50 !== null) group.append(landing(view, forecast.dry_s.p50, state.rig));
  return group;
}

/** Where the late course is still above the heel at the horizon, the fan has a corner there. */
function corner(view, { forecast, rig }, high) {
  const dry = forecast.dry_s;
  const lands = dry && dry.p05 !== null && dry.p95 === null;
  return lands ? [[view.xAhead(high[high.length - 1][0]), view.yVolume(rig.heel_l)]] : [];
}

function landing(view, in_s, rig) {
  return svg("circle", { class: "landing", cx: view.xAhead(in_s), cy: view.yVolume(rig.heel_l), r: view.fontPx * 0.42 });
}

function unknownAhead(view, group) {
  const x = (view.right + view.width) / 2;
  const y = (view.top + view.bottom) / 2;
  const size = Math.min(view.fontPx * 4, (view.bottom - view.top) * 0.55);
  group.append(svg("text", { class: "ahead-unknown", x, y, "font-size": size, "text-anchor": "middle" }, "?"));
  if (!view.small) group.append(note(x, y + view.fontPx * 1.8, t("picture.unknown"), view.fontPx, "middle"));
  return group;
}

/** The 5 %, 50 % and 95 % courses as [[seconds ahead, litres], …]. */
function paths(state, sd) {
  const { forecast, water, rig } = state;
  const now_l = forecast.volume_l;
  const dry = forecast.dry_s;
  if (dry && dry.p05 !== null) {
    const p50 = dry.p50 === null ? Math.max(forecast.dry_if_kept_s || 0, 1.3 * AHEAD_S) : dry.p50;
    const p95 = dry.p95 === null ? Math.max(1.6 * AHEAD_S, 1.5 * p50) : dry.p95;
    return [course(now_l - sd, rig.heel_l, dry.p05), course(now_l, rig.heel_l, p50), course(now_l + sd, rig.heel_l, p95)];
  }
  if (water.trend === "rising") return risingPaths(state, sd);
  if (water.trend === "holding" || dry) return [now_l - sd, now_l, now_l + sd].map((v) => levelOrNet(v, forecast, rig));
  return [null, null, null];
}

function levelOrNet(volume_l, forecast, rig) {
  const end = volume_l + ((forecast.net_l_min || 0) * AHEAD_S) / 60;
  return course(volume_l, Math.min(Math.max(end, rig.heel_l), rig.full_l), AHEAD_S);
}

function risingPaths(state, sd) {
  const { forecast, water, rig } = state;
  const full_s = water.full_in_s === null ? 2 * AHEAD_S : water.full_in_s;
  const to = (volume_l, in_s) => [...course(volume_l, rig.full_l, in_s), [AHEAD_S, rig.full_l]];
  return [to(forecast.volume_l - sd, full_s * 1.15), to(forecast.volume_l, full_s), to(forecast.volume_l + sd, full_s * 0.87)];
}

/** A straight course in litres, cut at the horizon and bent by the tank's shape. */
function course(from_l, to_l, in_s) {
  const end_s = Math.min(in_s, AHEAD_S);
  const end_l = in_s <= AHEAD_S ? to_l : from_l + ((to_l - from_l) * AHEAD_S) / in_s;
  const steps = 12;
  return Array.from({ length: steps + 1 }, (_, i) => [(end_s * i) / steps, from_l + ((end_l - from_l) * i) / steps]);
}

function heelBand(view, state) {
  const y = view.y(state.rig.heights.heel_m);
  return svg("g", {},
    svg("rect", { class: "heel", x: 0, y, width: view.width, height: view.bottom - y }),
    svg("path", { class: "heel-top", d: `M0,${y}H${view.width}` }));
}

function tankItself(view, state) {
  const { tank } = view;
  const { forecast, rig } = state;
  const shape = (from, to) => outlinePath(tank, from, to, view.middle, view.half, view.y);
  const group = svg("g", { class: "tank", "data-quality": forecast.level_quality });
  group.append(svg("path", { class: "tank-inside", d: shape(0, tank.top_m) }));
  if (forecast.volume_l !== null) group.append(...waterInside(view, forecast, shape));
  group.append(svg("path", { class: "tank-heel", d: shape(0, rig.heights.heel_m) }));
  group.append(svg("path", { class: "tank-wall", d: shape(0, tank.top_m) }));
  if (forecast.volume_l === null) {
    group.append(svg("text", { class: "tank-unknown", x: view.middle, y: (view.top + view.bottom) / 2, "font-size": (view.bottom - view.top) * 0.5, "text-anchor": "middle", dy: "0.35em" }, "?"));
  }
  return group;
}

function waterInside(view, forecast, shape) {
  const { tank } = view;
  const at = tank.height_m(forecast.volume_l);
  const parts = [svg("path", { class: "tank-water", d: shape(0, at) })];
  if (forecast.level_quality !== "good" && forecast.volume_sd_l) {
    const spread = forecast.volume_sd_l * SPREAD;
    const low = tank.height_m(Math.max(forecast.volume_l - spread, 0));
    const high = tank.height_m(forecast.volume_l + spread);
    parts.push(svg("path", { class: "tank-doubt-ground", d: shape(low, high) }), svg("path", { class: "tank-doubt", d: shape(low, high) }));
    const roomy = !view.small && 2 * view.half(tank.halfWidth_m(at)) > 17 * view.fontPx;
    if (roomy) parts.push(note(view.middle, view.y(high) - view.fontPx * 0.5, t("picture.uncertain"), view.fontPx, "middle", "bold"));
  } else {
    const half = view.half(tank.halfWidth_m(at));
    parts.push(svg("path", { class: "tank-surface", d: `M${view.middle - half},${view.y(at)}H${view.middle + half}` }));
  }
  return parts;
}

function note(x, y, text, size, anchor = "start", weight = "normal") {
  return svg("text", { class: `note note-${weight}`, x, y, "font-size": size, "text-anchor": anchor }, text);
}

/** Heel, band, tow and full marks, with their words inside the tank where it is large enough for words. */
function marks(view, state) {
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

function timeAxis(view) {
  const y = view.bottom + view.fontPx * 1.25;
  const group = svg("g", { class: "axis" });
  const hours = view.back_s > 2 * 3600;
  const back = hours ? view.back_s / 3600 : view.back_s / 60;
  const unit = hours ? t("picture.hours") : t("picture.minutes");
  const per = hours ? 3600 : 60;
  for (const n of view.left > 12 * view.fontPx ? [back, back / 2] : [back]) {
    group.append(note(Math.max(view.xPast(n * per), 2), y, `−${n}${n === back ? ` ${unit}` : ""}`, view.fontPx, n === back ? "start" : "middle"));
  }
  group.append(note(view.middle, y, t("picture.now"), view.fontPx, "middle", "bold"));
  for (const n of view.width - view.right > 20 * view.fontPx ? [15, 30, 45, 60] : [60]) {
    group.append(note(Math.min(view.xAhead(n * 60), view.width - 2), y, `+${n}${n === 60 ? ` ${t("picture.minutes")}` : ""}`, view.fontPx, n === 60 ? "end" : "middle"));
  }
  return group;
}
