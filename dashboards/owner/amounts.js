// Amounts in the reader's units, both ways. The monitor speaks litres, metres, litres a minute.

const SYSTEMS = {
  us: { volume: ["gal", 3.785411784, 1], flow: ["gpm", 3.785411784, 2], length: ["in", 0.0254, 1] },
  metric: { volume: ["L", 1, 0], flow: ["L/min", 1, 1], length: ["mm", 0.001, 0] },
};

let system = "us";

export function useUnits(name) {
  system = name === "metric" ? "metric" : "us";
}

export function units() {
  return system;
}

export function unitOf(kind) {
  return SYSTEMS[system][kind][0];
}

/** What was typed, in the monitor's unit; null where it is no number. A comma is taken for a point. */
export function typed(text, kind) {
  const number = Number(text.trim().replace(",", "."));
  if (!text.trim() || !Number.isFinite(number)) return null;
  return kind ? number * SYSTEMS[system][kind][1] : number;
}

export function amount(value, kind, more = 0) {
  if (value === null || value === undefined) return "–";
  const [unit, factor, digits] = SYSTEMS[system][kind];
  return `${(value / factor).toFixed(digits + more)} ${unit}`;
}

export function span(seconds) {
  if (seconds === null || seconds === undefined) return "–";
  if (seconds < 10) return `${seconds.toFixed(1)} s`;
  if (seconds < 600) return `${Math.round(seconds)} s`;
  if (seconds < 36000) return `${Math.round(seconds / 60)} min`;
  return `${Math.round(seconds / 3600)} h`;
}

/** A raw figure, as fine as it needs. */
export function figure(value) {
  if (value === null || value === undefined) return "–";
  return Number(value.toPrecision(4)).toString();
}
