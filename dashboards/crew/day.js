// The day: what stood in the tank for as long as the monitor remembers, running on into the coming hour as a fan.
// Where the chart library was brought along it can be moved and drawn closer; where not, the same is drawn plain.

import { el, setText } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { DayChart, bringChart } from "./chart.js";
import { drawPlain } from "./day_plain.js";
import { courses } from "./fan.js";
import * as say from "./say.js";
import { job } from "./sheet.js";
import { AHEAD_S } from "./view.js";

const DAY_MIN = 1440;
const ANEW_S = 10;
const STEP_S = 60;

export class Day {
  /** `asking(minutes)` answers with the past, as in past.js. */
  constructor(sheet, asking) {
    this.sheet = sheet;
    this.asking = asking;
    this.node = null;
  }

  async open(state) {
    this.read = el("p", { class: "day-read", role: "status" });
    this.box = el("div", { class: "day-box" });
    this.keys = el("div", { class: "jobs" });
    this.node = el("div", { class: "day" }, this.read, this.box, this.keys);
    this.sheet.open(t("day.title"), this.node);
    const { node } = this;
    const [past, uPlot] = await Promise.all([this.asking(DAY_MIN).catch(() => null), bringChart()]);
    if (node !== this.node || !node.isConnected) return;
    this.points = past ? [...past.points] : [];
    this.chart = null;
    this.draw(uPlot, state);
  }

  draw(uPlot, state) {
    this.drawn_at = state.at;
    const data = dayData(this.points, state);
    if (!data) return setText(this.read, t("picture.no_past"));
    const label = t("day.alt");
    if (uPlot) {
      this.chart = new DayChart(uPlot, this.box, data, state, (text) => setText(this.read, text));
      this.keys.replaceChildren(...["earlier", "later", "closer", "wider"].map((key) => job(t(`day.${key}`), () => this.chart.move(key))));
    } else {
      drawPlain(this.box, data, state);
      this.keys.replaceChildren(el("p", {}, t("day.plain")));
    }
    this.box.setAttribute("role", "img");
    this.box.setAttribute("aria-label", label);
    return setText(this.read, t("day.until", { time: say.clock(state.wall, state.rig.timezone) }));
  }

  /** As long as it is open it goes on. */
  show(state) {
    if (!this.node) return;
    if (!this.node.isConnected) return this.forget();
    if (!this.drawn_at || Math.abs(state.at - this.drawn_at) < ANEW_S) return;
    this.drawn_at = state.at;
    this.points.push([state.at, state.forecast.volume_l, state.forecast.volume_sd_l]);
    const data = dayData(this.points, state);
    if (!data) return;
    if (this.chart) this.chart.renew(data, state);
    else drawPlain(this.box, data, state);
  }

  forget() {
    if (this.chart) this.chart.close();
    Object.assign(this, { node: null, box: null, chart: null, points: [], drawn_at: null });
  }
}

/** Columns for a chart, in what people read: {wall_s, past, low, middle, high, now_s}; null where nothing is known. */
export function dayData(points, state) {
  const offset_s = state.wall - state.at;
  const known = points.filter(([at]) => at <= state.at);
  if (!known.some(([, volume_l]) => volume_l !== null)) return null;
  const fan = state.forecast.volume_l === null ? null : courses(state);
  const steps = Array.from({ length: AHEAD_S / STEP_S + 1 }, (_, k) => k * STEP_S);
  const nothing = (list) => list.map(() => null);
  const ahead = (i) => [...nothing(known), ...steps.map((in_s) => (fan && fan[i] ? say.shownVolume(on(fan[i], in_s)) : null))];
  return {
    now_s: state.wall,
    wall_s: [...known.map(([at]) => at + offset_s), ...steps.map((in_s) => state.wall + in_s)],
    past: [...known.map(([, volume_l]) => (volume_l === null ? null : say.shownVolume(volume_l))), ...nothing(steps)],
    low: ahead(0),
    middle: ahead(1),
    high: ahead(2),
  };
}

/** A course's volume so many seconds ahead; beyond its end it stays there. */
function on(course, in_s) {
  const k = course.findIndex(([s]) => s >= in_s);
  if (k < 0) return course[course.length - 1][1];
  if (k === 0) return course[0][1];
  const [[from_s, from_l], [to_s, to_l]] = [course[k - 1], course[k]];
  return from_l + ((to_l - from_l) * (in_s - from_s)) / (to_s - from_s);
}
