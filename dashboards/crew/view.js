// Where everything stands in the picture: one scale for height, and two for time, left and right of the tank.

import { svg } from "../shared/dom.js";

export const BACK_S = 3600;
export const AHEAD_S = 3600;
export const SPREAD = 1.645; // standard deviations to the 5 % and 95 % points of a normal
const WIDEST = 0.46; // of the picture: the tank keeps its true proportions and leaves room for time

/** The scales for a picture of so many pixels. */
export function layout(tank, width, height) {
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
    tank, width, height, top, bottom, left, right, small, fontPx,
    middle: (left + right) / 2,
    half: (m) => m * perM,
    y,
    heightAt_m: (py) => (bottom - py) / perM,
    yVolume: (volume_l) => y(tank.height_m(volume_l)),
    xPast: (ago_s) => left * (1 - Math.min(ago_s, BACK_S) / BACK_S),
    xAhead: (in_s) => right + ((width - right) * Math.min(in_s, AHEAD_S)) / AHEAD_S,
  };
}

export function path(points) {
  return `M${points.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join("L")}`;
}

/** As many lines as the words need in so much room, around `y`. */
export function notes(x, y, text, size, room) {
  const most = Math.max(room / (0.55 * size), 1);
  const lines = [""];
  for (const word of text.split(" ")) {
    const line = `${lines[lines.length - 1]} ${word}`.trim();
    if (line.length > most && lines[lines.length - 1]) lines.push(word);
    else lines[lines.length - 1] = line;
  }
  return lines.map((line, i) => note(x, y + (i - (lines.length - 1) / 2) * 1.15 * size, line, size, "middle"));
}

export function note(x, y, text, size, anchor = "start", weight = "normal") {
  return svg("text", { class: `note note-${weight}`, x, y, "font-size": size, "text-anchor": anchor }, text);
}
