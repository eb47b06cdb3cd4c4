// Truth beside belief: panels one under another on a single time axis, and under them what was wrong and what was said.

import * as say from "../crew/say.js";
import { svg } from "../shared/dom.js";
import { alarmWords, t } from "../shared/words.js";

const SPREAD = 1.645; // standard deviations to the 5 % and 95 % points of a normal
const LONGEST_DRY_S = 3600;
const ROW = 19;
const GAP = 30;
const LEFT = 8;
const TICKS_S = [60, 120, 300, 600, 900, 1800, 3600];

/** One SVG. `draw(day, window_s)` shows the last so many seconds; a pointer on it reads one instant. */
export class Chart {
  constructor() {
    this.node = svg("svg", { class: "chart", role: "img" });
    this.hover = null;
    this.node.addEventListener("pointermove", (event) => this.point(event));
    this.node.addEventListener("pointerleave", () => this.read(null));
    new ResizeObserver(() => this.day && this.draw(this.day, this.window_s)).observe(this.node);
  }

  point(event) {
    if (!this.scale) return;
    const box = this.node.getBoundingClientRect();
    this.read(this.scale.at(event.clientX - box.left));
  }

  read(at) {
    this.hover = at;
    if (this.day) this.draw(this.day, this.window_s);
  }

  draw(day, window_s) {
    Object.assign(this, { day, window_s });
    const { width, height } = this.node.getBoundingClientRect();
    if (width < 80 || height < 80) return;
    const strips = [...day.faultSpans().map((each) => ({ ...each, kind: "fault" })), ...day.alarmSpans().map((each) => ({ ...each, kind: "alarm" }))];
    const upto = Math.max(day.now.truth.at, day.state.at);
    const from = upto - window_s;
    const rows = inRows(strips.filter((each) => (each.to === null || each.to > from) && each.from < upto));
    const x = (at) => LEFT + ((at - from) / window_s) * (width - 2 * LEFT);
    this.scale = { x, from, upto, width, at: (px) => from + ((px - LEFT) / (width - 2 * LEFT)) * window_s };
    const axis = height - 20 - Math.max(rows.length, 1) * ROW;
    this.node.replaceChildren(...this.panels(axis), ...this.times(axis), ...this.strips(rows, axis + 20), ...this.hair(axis));
    this.node.setAttribute("aria-label", t("bench.chart"));
  }

  panels(bottom) {
    const { pumps } = this.day.about;
    const shares = [3, 1.4, ...pumps.map(() => 1), 1.5];
    const unit = (bottom - GAP * shares.length) / shares.reduce((sum, share) => sum + share, 0);
    let y = 0;
    const place = (share) => {
      const box = { top: y + GAP, bottom: y + GAP + share * unit };
      y = box.bottom;
      return box;
    };
    return [
      this.volume(place(shares[0])),
      this.flow(place(shares[1]), t("bench.inflow"), (point) => point.inflow_l_min),
      ...pumps.map((pump) => this.flow(place(1), pump, (point) => point.draws[pump])),
      this.dry(place(shares[shares.length - 1])),
    ];
  }

  volume(box) {
    const { rig } = this.day.state;
    const panel = new Panel(this, box, 0, rig.capacity_l);
    const marks = [["heel", rig.heel_l], ["band", rig.band_l[1]], ["full", rig.full_l]];
    for (const [name, litres] of marks) panel.mark(litres, `${t(`bench.${name}`)} ${say.volume(litres)}`);
    panel.band((p) => p.volume_l - SPREAD * p.sd_l, (p) => p.volume_l + SPREAD * p.sd_l, (p) => p.volume_l !== null);
    panel.lines((p) => p.volume_l);
    return panel.titled(t("bench.volume"), (p) => say.volume(p && p.volume_l), (p) => (p && p.volume_l !== null ? `${say.volume(p.volume_l)} ± ${say.volume(SPREAD * p.sd_l)}` : "?"));
  }

  flow(box, title, of) {
    const most = Math.max(10, ...[...this.day.truth.values(), ...this.day.belief.values()].map((p) => of(p) || 0));
    const panel = new Panel(this, box, 0, 1.1 * most);
    panel.lines(of);
    return panel.titled(title, (p) => say.flow(p && of(p)), (p) => say.flow(p && of(p)));
  }

  dry(box) {
    const panel = new Panel(this, box, 0, LONGEST_DRY_S);
    const some = (p) => p.early_s !== null;
    panel.band((p) => p.early_s, (p) => (p.late_s === null ? LONGEST_DRY_S : p.late_s), some);
    panel.lines((p) => p.dry_s);
    const time = (s) => (s === null || s === undefined ? t("bench.over_an_hour") : say.bareSpan(s));
    return panel.titled(t("bench.dry"), (p) => (p ? time(p.dry_s) : "?"), (p) => (p ? (some(p) ? `${time(p.early_s)} – ${time(p.late_s)}` : t("bench.none_seen")) : "?"));
  }

  times(y) {
    const { from, upto, x, width } = this.scale;
    const { timezone } = this.day.state.rig;
    const shift_s = this.day.state.wall - this.day.state.at;
    const step = TICKS_S.find((s) => ((upto - from) / s) * 90 <= width) || 3600;
    const ticks = [];
    for (let at = Math.ceil((from + shift_s) / step) * step - shift_s; at <= upto; at += step) {
      if (x(at) < 30 || x(at) > width - 30) continue;
      ticks.push(svg("line", { class: "tick", x1: x(at), x2: x(at), y1: GAP, y2: y }));
      ticks.push(svg("text", { class: "small", x: x(at), y: y + 15, "text-anchor": "middle" }, say.clock(at + shift_s, timezone)));
    }
    return ticks;
  }

  strips(rows, top) {
    const { x, from, upto, width } = this.scale;
    return rows.flatMap((row, i) => row.flatMap((each) => {
      const left = x(Math.max(each.from, from));
      const right = x(Math.min(each.to === null ? upto : each.to, upto));
      const y = top + i * ROW;
      const words = each.kind === "fault" ? t(`bench.fault.${each.name}`) : alarmWords(each.name).title;
      const late = left > width * 0.6;
      return [
        svg("rect", { class: `strip ${each.kind}`, x: left, y: y + 2, width: Math.max(right - left, 3), height: ROW - 4, rx: 2 }),
        svg("text", { class: "small strip-name", x: late ? right - 4 : left + 5, y: y + 14, "text-anchor": late ? "end" : "start" }, words),
      ];
    }));
  }

  hair(bottom) {
    if (this.hover === null || this.hover < this.scale.from) return [];
    const x = this.scale.x(this.hover);
    return [svg("line", { class: "hair", x1: x, x2: x, y1: GAP, y2: bottom })];
  }

  /** The point at the pointer, or the newest. */
  chosen(points) {
    const at = this.hover === null ? Infinity : this.hover + 5;
    let found = null;
    for (const point of points.values()) if (point.at <= at) found = point;
    return found;
  }
}

class Panel {
  constructor(chart, box, low, high) {
    this.chart = chart;
    this.box = box;
    this.y = (value) => box.bottom - ((Math.min(Math.max(value, low), high) - low) / (high - low)) * (box.bottom - box.top);
    this.node = svg("g", { class: "panel" }, svg("line", { class: "ground", x1: LEFT, x2: chart.scale.width - LEFT, y1: box.bottom, y2: box.bottom }));
  }

  mark(value, words) {
    const y = this.y(value);
    this.node.append(svg("line", { class: "mark", x1: LEFT, x2: this.chart.scale.width - LEFT, y1: y, y2: y }));
    this.node.append(svg("text", { class: "small", x: this.chart.scale.width - LEFT, y: y - 3, "text-anchor": "end" }, words));
  }

  /** Stretches of points that have something to show, the last one before the window included. */
  stretches(points, has) {
    const { from } = this.chart.scale;
    const found = [];
    let open = null;
    for (const point of points.values()) {
      if (point.at < from) continue;
      if (!has(point)) open = null;
      else if (open) open.push(point);
      else found.push((open = [point]));
    }
    return found;
  }

  path(points, of) {
    return points.map((p) => `${this.chart.scale.x(p.at).toFixed(1)},${this.y(of(p)).toFixed(1)}`).join("L");
  }

  band(low, high, has) {
    for (const points of this.stretches(this.chart.day.belief, has)) {
      this.node.append(svg("path", { class: "band", d: `M${this.path(points, high)}L${this.path([...points].reverse(), low)}Z` }));
    }
  }

  lines(of) {
    const has = (p) => of(p) !== null && of(p) !== undefined;
    for (const [points, name] of [[this.chart.day.truth, "true"], [this.chart.day.belief, "believed"]]) {
      for (const part of this.stretches(points, has)) this.node.append(svg("path", { class: `line ${name}`, d: `M${this.path(part, of)}` }));
    }
  }

  titled(title, truth, belief) {
    const { chart, box } = this;
    const y = box.top - 9;
    const said = [["true", truth(chart.chosen(chart.day.truth))], ["believed", belief(chart.chosen(chart.day.belief))]];
    const spans = said.flatMap(([name, words]) => [svg("tspan", { class: `key ${name}`, dx: 12 }, `${t(`bench.${name}`)} `), svg("tspan", { class: "value" }, words)]);
    this.node.append(svg("text", { class: "title", x: LEFT, y }, svg("tspan", { class: "name" }, title), spans));
    return this.node;
  }
}

function inRows(strips) {
  const rows = [];
  for (const strip of strips) {
    const same = rows.find((row) => row[0].name === strip.name && row[0].kind === strip.kind);
    if (same) same.push(strip);
    else rows.push([strip]);
  }
  return rows.slice(-8);
}
