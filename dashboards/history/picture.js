// The curves: each signal in a strip of its own, its least and most as a band, its mean as a line, alarms on the axis.

import { wholeSteps } from "./zone.js";

const LEFT = 64;
const BOTTOM = 30;
const TITLE = 24;
const TICKS_S = [60, 300, 600, 1800, 3600, 10800, 21600, 43200, 86400, 172800, 604800, 2592000, 7776000];

/** Numbers from just below to just above, where a reader would put them. */
export function steps(low, high, most) {
  const raw = (high - low) / most || 1;
  const ten = 10 ** Math.floor(Math.log10(raw));
  const step = ten * [1, 2, 5, 10].find((n) => n * ten >= raw);
  const found = [];
  for (let n = Math.ceil(low / step - 1e-9); n * step <= high + step * 1e-9; n += 1) found.push(n * step + 0);
  return found;
}

/** Stretches of points without a gap: nothing is drawn where nothing is known. */
export function unbroken(points, usual_s) {
  const parts = [];
  points.forEach((point, index) => {
    if (index === 0 || point[0] - points[index - 1][0] > usual_s) parts.push([]);
    parts[parts.length - 1].push(point);
  });
  return parts;
}

function colours() {
  const style = getComputedStyle(document.documentElement);
  return Object.fromEntries(["ink", "soft", "line", "curve", "spread", "stop"].map((name) => [name, style.getPropertyValue(`--${name}`)]));
}

/** `view` is {since, until}; `lines` are {title, unit, of, points}; `words` are {clock(at, window_s), number(value), shift_s(at)}. */
export function draw(canvas, view, lines, alarms, words) {
  const { width, height } = canvas.getBoundingClientRect();
  const dense = window.devicePixelRatio || 1;
  canvas.width = Math.round(width * dense);
  canvas.height = Math.round(height * dense);
  const pen = canvas.getContext("2d");
  pen.scale(dense, dense);
  pen.font = `14px ${getComputedStyle(document.body).fontFamily}`;
  const window_s = view.until - view.since;
  const sheet = { pen, width, height, view, window_s, words, ink: colours(), x: (at) => LEFT + ((at - view.since) / window_s) * (width - LEFT - 8) };
  times(sheet);
  const tall = (height - BOTTOM) / Math.max(lines.length, 1);
  lines.forEach((line, index) => strip(sheet, line, index * tall + TITLE, (index + 1) * tall - 6));
  marks(sheet, alarms);
}

/** How wide the part is that time is drawn on. */
export function breadth(canvas) {
  return canvas.getBoundingClientRect().width - LEFT - 8;
}

export function timeAt(canvas, view, clientX) {
  const box = canvas.getBoundingClientRect();
  return view.since + ((clientX - box.left - LEFT) / breadth(canvas)) * (view.until - view.since);
}

function times({ pen, width, height, view, window_s, words, ink, x }) {
  const most = Math.max(2, Math.floor((width - LEFT) / 110));
  const step = TICKS_S.find((n) => window_s / n <= most) || 31557600;
  pen.fillStyle = ink.soft;
  pen.strokeStyle = ink.line;
  pen.textAlign = "center";
  for (const at of wholeSteps(view, step, words.shift_s)) {
    rule(pen, x(at), 0, x(at), height - BOTTOM);
    const said = words.clock(at, window_s);
    const half = pen.measureText(said).width / 2;
    pen.fillText(said, Math.min(x(at), width - half), height - 8); // whole at the right end, too
  }
}

function strip({ pen, width, view, window_s, words, ink, x }, line, top, bottom) {
  const shown = line.points.map(([at, lo, mean, hi]) => [at, line.of(lo), line.of(mean), line.of(hi)]);
  pen.textAlign = "left";
  pen.fillStyle = ink.ink;
  pen.fillText(`${line.title}${line.unit ? ` (${line.unit})` : ""}${shown.length ? "" : ` – ${words.nothing}`}`, LEFT + 4, top - 8);
  if (!shown.length) return;
  let low = Math.min(...shown.map((point) => point[1]));
  let high = Math.max(...shown.map((point) => point[3]));
  if (high - low < 1e-9) [low, high] = [low - 1, high + 1];
  const y = (value) => bottom - ((value - low) / (high - low)) * (bottom - top);
  pen.textAlign = "right";
  for (const value of steps(low, high, Math.max(1, (bottom - top) / 44))) {
    pen.strokeStyle = ink.line;
    rule(pen, LEFT, y(value), width - 8, y(value));
    pen.fillStyle = ink.soft;
    pen.fillText(words.number(value), LEFT - 6, y(value) + 5);
  }
  pen.save();
  pen.beginPath();
  pen.rect(LEFT, top - 2, width - LEFT - 8, bottom - top + 4);
  pen.clip();
  for (const part of unbroken(shown, Math.max(90, window_s / 100))) curve(pen, part, x, y, ink, view);
  pen.restore();
}

function curve(pen, part, x, y, ink) {
  const there = part.map(([at, lo]) => [x(at), y(lo)]);
  const back = part.map(([at, , , hi]) => [x(at), y(hi)]).reverse();
  pen.fillStyle = ink.spread;
  trace(pen, [...there, ...back]);
  pen.fill();
  pen.strokeStyle = ink.curve;
  pen.lineWidth = 2;
  trace(pen, part.map(([at, , mean]) => [x(at), y(mean)]));
  pen.stroke();
  pen.lineWidth = 1;
}

function marks({ pen, height, view, ink, x }, alarms) {
  pen.fillStyle = ink.stop;
  for (const { at } of alarms) {
    if (at < view.since || at > view.until) continue;
    trace(pen, [[x(at) - 6, height - BOTTOM + 8], [x(at) + 6, height - BOTTOM + 8], [x(at), height - BOTTOM - 4]]);
    pen.fill();
  }
}

function trace(pen, places) {
  pen.beginPath();
  for (const [x, y] of places) pen.lineTo(x, y);
}

function rule(pen, x1, y1, x2, y2) {
  trace(pen, [[x1, y1], [x2, y2]]);
  pen.stroke();
}
