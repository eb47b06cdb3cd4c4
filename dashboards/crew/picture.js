// The one picture: water over time, with the tank itself standing at now.
// To its left what was; to its right what may come, a fan that runs down to the heel.

import { el, redrawOn, svg } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";
import { ahead } from "./fan.js";
import { marks, timeAxis } from "./marks.js";
import { Tank, outlinePath } from "./tank.js";
import { BACK_S, SPREAD, layout, notes, path } from "./view.js";

const EVERY_MS = 1000;

export class Picture {
  constructor(onTap) {
    this.canvas = svg("svg", { "aria-hidden": "true", class: "picture-canvas" });
    this.node = el("button", { class: "picture", type: "button", onclick: onTap }, this.canvas);
    this.tankKey = null;
    this.drawn_ms = -Infinity;
    new ResizeObserver(() => this.draw()).observe(this.node);
  }

  show(state, past) {
    this.state = state;
    this.past = past;
    this.due = true;
    this.tick(kindOf(state) !== this.kind);
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
    this.kind = kindOf(this.state);
    this.useTank(this.state.rig);
    const view = layout(this.tank, width, height);
    const key = [Math.round(width), Math.round(height), t("picture.now"), drawnFrom(this.state, this.past)];
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

function kindOf({ forecast, water, rig }) {
  const known = [forecast.volume_l === null, forecast.dry_s === null, forecast.dry_s && forecast.dry_s.p50 === null];
  return JSON.stringify([...known, forecast.level_quality, water.trend, rig.name, rig.units, t("picture.now")]);
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

/** The past as filled runs; a gap in the readings is a gap in the picture. */
function pastArea(view, state, past) {
  const group = svg("g", { class: "past" });
  const runs = knownRuns(past.filter((p) => state.at - p[0] <= BACK_S && p[0] <= state.at));
  for (const run of runs) {
    if (run.length < 2) continue;
    const line = run.map(([at, volume_l]) => [view.xPast(state.at - at), view.yVolume(volume_l)]);
    const last = run === runs[runs.length - 1] && state.at - run[run.length - 1][0] < 60;
    if (last && state.forecast.volume_l !== null) line.push(...upToTheWall(view, state.forecast.volume_l));
    const [from, to] = [line[0][0], line[line.length - 1][0]];
    group.append(svg("path", { class: "water-past", d: `${path(line)}L${to.toFixed(1)},${view.bottom}L${from.toFixed(1)},${view.bottom}Z` }));
    group.append(svg("path", { class: "water-line", d: path(line) }));
  }
  if (!runs.length) group.append(...notes(view.left / 2, (view.top + view.bottom) / 2, t("picture.no_past"), view.fontPx, view.left));
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
  } else {
    const half = view.half(tank.halfWidth_m(at));
    parts.push(svg("path", { class: "tank-surface", d: `M${view.middle - half},${view.y(at)}H${view.middle + half}` }));
  }
  return parts;
}

