// The day in a chart that can be moved with a finger and drawn closer with the keys below it. The library is no part of
// this project; it is brought along when the package is built (see .ci/chart), and asked for only when the day is.

import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";

const HOUR_S = 3600;
const CLOSEST_S = 600;
let bringing = null;

/** The chart library, or null where it is not there. */
export function bringChart() {
  bringing = bringing || asked().then((uPlot) => {
    if (!uPlot) bringing = null; // it may come another time
    return uPlot;
  });
  return bringing;
}

function asked() {
  return new Promise((done) => {
    const script = el("script", { src: "/static/chart/uplot.js", onload: () => done(window.uPlot || null), onerror: () => { script.remove(); done(null); } });
    document.head.append(el("link", { rel: "stylesheet", href: "/static/chart/uplot.css" }), script);
  });
}

const columns = ({ wall_s, past, low, high, middle }) => [wall_s, past, low, high, middle];
const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();

export class DayChart {
  constructor(uPlot, box, data, state, onRead) {
    this.onRead = onRead;
    this.rig = state.rig;
    this.data = data;
    this.span = [data.now_s - HOUR_S, data.now_s + HOUR_S];
    this.plot = new uPlot(this.options(uPlot, box), columns(data), box);
    this.plot.over.addEventListener("pointerdown", (event) => this.grasp(event));
    this.watch = new ResizeObserver(() => this.plot.setSize({ width: box.clientWidth, height: box.clientHeight }));
    this.watch.observe(box);
  }

  options(uPlot, box) {
    const { timezone } = this.rig;
    const [ink, soft, fan, water, line] = ["ink", "soft", "fan", "water-past", "line"].map(colour);
    const size = box.clientWidth < 600 ? 13 : 18;
    const axis = { stroke: soft, font: `600 ${size}px ${colour("plain")}`, grid: { stroke: line, width: 1 }, ticks: { stroke: line } };
    const clock = (plot, at) => at.map((s) => say.clock(s, timezone));
    return {
      width: box.clientWidth,
      height: box.clientHeight,
      tzDate: (s) => (timezone ? uPlot.tzDate(new Date(s * 1000), timezone) : new Date(s * 1000)),
      legend: { show: false },
      cursor: { drag: { x: false, y: false }, points: { size: 12 } },
      scales: { x: { range: () => this.span }, y: { range: () => [0, say.shownVolume(this.rig.capacity_l)] } },
      axes: [{ ...axis, values: clock, space: 6 * size }, { ...axis, size: 4 * size }],
      series: [{}, { stroke: ink, width: 3, fill: water, spanGaps: false }, { stroke: soft, width: 1 }, { stroke: soft, width: 1 }, { stroke: ink, width: 2, dash: [8, 6] }],
      bands: [{ series: [3, 2], fill: fan }],
      hooks: { draw: [(plot) => this.marks(plot, size)], setCursor: [(plot) => this.readOut(plot.cursor.idx)] },
    };
  }

  /** Heel, band and full mark, across the day. */
  marks({ ctx, bbox, valToPos }, size) {
    const { rig } = this;
    const lines = [[rig.heel_l, t(bbox.width > 30 * size * devicePixelRatio ? "picture.heel" : "picture.heel_short")], ...rig.band_l.map((litres) => [litres, say.volume(litres)]), [rig.full_l, t("picture.full", { volume: say.volume(rig.full_l) })]];
    ctx.save();
    ctx.font = `600 ${size * devicePixelRatio}px ${colour("plain")}`;
    ctx.textAlign = "left";
    ctx.textBaseline = "bottom";
    ctx.fillStyle = colour("ink");
    for (const [litres, words] of lines) {
      const y = Math.round(valToPos(say.shownVolume(litres), "y", true));
      ctx.fillRect(bbox.left, y, bbox.width, litres === rig.heel_l ? 3 * devicePixelRatio : 1);
      ctx.fillText(words, bbox.left + 0.5 * size, y - 2);
    }
    const now = Math.round(this.plot ? valToPos(this.data.now_s, "x", true) : -9);
    if (now > bbox.left && now < bbox.left + bbox.width) ctx.fillRect(now, bbox.top, 2, bbox.height);
    ctx.restore();
  }

  readOut(i) {
    if (i === null || i === undefined || !this.plot) return;
    const { wall_s, past, low, high } = this.data;
    const time = say.clock(wall_s[i], this.rig.timezone);
    const volume = (shown) => say.volume(say.litresOf(shown));
    if (past[i] !== null) this.onRead(t("day.at", { time, volume: volume(past[i]) }));
    else if (low[i] !== null) this.onRead(t("day.may", { time, low: volume(Math.min(low[i], high[i])), high: volume(Math.max(low[i], high[i])) }));
  }

  renew(data, { rig }) {
    const passed_s = data.now_s - this.data.now_s;
    this.span = this.span.map((s) => s + passed_s);
    Object.assign(this, { data, rig });
    this.plot.setData(columns(data));
  }

  move(how) {
    const [from, to] = this.span;
    const part = (to - from) / 4;
    const [by, by2] = { earlier: [-part, -part], later: [part, part], closer: [part, -part], wider: [-2 * part, 2 * part] }[how];
    this.see(from + by, to + by2);
  }

  /** What is shown stays within what there is. */
  see(from, to) {
    const [first, last] = [this.data.wall_s[0], this.data.now_s + HOUR_S];
    const wide = Math.min(Math.max(to - from, CLOSEST_S), last - first);
    const middle = Math.min(Math.max((from + to) / 2, first + wide / 2), last - wide / 2);
    this.span = [middle - wide / 2, middle + wide / 2];
    this.plot.setData(columns(this.data));
  }

  grasp(down) {
    const [from, to] = this.span;
    const per_px = (to - from) / this.plot.over.clientWidth;
    const drag = (event) => {
      const by = (down.clientX - event.clientX) * per_px;
      this.see(from + by, to + by);
    };
    const over = new AbortController();
    addEventListener("pointermove", drag, { signal: over.signal });
    for (const end of ["pointerup", "pointercancel"]) addEventListener(end, () => over.abort(), { signal: over.signal });
  }

  close() {
    this.watch.disconnect();
    this.plot.destroy();
  }
}
