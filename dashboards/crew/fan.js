// What may come, to the right of now: a fan from 5 to 95 % that runs down to the heel, or level, or up to the full mark.

import { svg } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { AHEAD_S, SPREAD, note, path } from "./view.js";

/** What may come: falling as a fan to the heel, holding as a level band, rising as a fan to the full mark. */
export function ahead(view, state) {
  const { forecast, water } = state;
  const group = svg("g", { class: "ahead" });
  if (forecast.volume_l === null) return unknownAhead(view, group);
  const [low, middle, high] = courses(state);
  if (!middle) return unknownAhead(view, group);
  const curve = (path) => path.map(([in_s, volume_l]) => [view.xAhead(in_s), view.yVolume(volume_l)]);
  const start = view.middle + view.half(view.tank.halfWidth_m(view.tank.height_m(forecast.volume_l)));
  const y = view.yVolume(forecast.volume_l);
  group.append(svg("path", { class: "fan", d: `${path([...curve(high), ...corner(view, state, high), ...curve(low).reverse()])}Z` }));
  group.append(svg("path", { class: "fan-bridge", d: path([[start, y], [view.right, y]]) }));
  group.append(svg("path", { class: "fan-middle", d: path(curve(middle)) }));
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

/** The 5 %, 50 % and 95 % courses as [[seconds ahead, litres], …]; null where nothing can be said. */
export function courses(state) {
  const { forecast, water, rig } = state;
  const sd = (forecast.volume_sd_l || 0) * SPREAD;
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
