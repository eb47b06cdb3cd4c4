// Words inside the tank: each near its own mark, between the walls, and struck neither by the surface nor by another.

import { note } from "./view.js";

export const LETTER = 0.53; // of the font size: a bold letter on average
const FURTHEST = 1.4; // font sizes from its mark; beyond that a word would be taken for another's

export class Labels {
  /** `lines_y` are [top, bottom] of what runs across the whole tank: its surface, the top of the heel. */
  constructor(view, lines_y) {
    this.view = view;
    this.lines_y = lines_y;
    this.taken = [];
  }

  /** Keeps a place free. */
  keep(left, top, right, bottom) {
    this.taken.push({ left, top, right, bottom });
  }

  /** The words as a note, at `y` or next to it; null where they find no place. */
  put(x, y, words, anchor) {
    const f = this.view.fontPx;
    for (const at of this.heights(y)) {
      const box = boxOf(x, at, LETTER * f * words.length, f, anchor);
      if (!this.within(box) || !this.taken.every((other) => apart(box, other))) continue;
      this.taken.push(box);
      return note(x, at + 0.35 * f, words, f, anchor, "bold");
    }
    return null;
  }

  /** Where a line of words may stand, the nearest to its mark first. */
  heights(y) {
    const f = this.view.fontPx;
    const beside = this.lines_y.flatMap(([top, bottom]) => [top - 0.7 * f, bottom + 0.7 * f]);
    const clear = (at) => this.lines_y.every(([top, bottom]) => at + 0.6 * f < top || at - 0.6 * f > bottom);
    const near = (at) => Math.abs(at - y) <= FURTHEST * f;
    return [y, ...beside].filter((at) => clear(at) && near(at)).sort((one, other) => Math.abs(one - y) - Math.abs(other - y));
  }

  within({ left, right, top, bottom }) {
    const { view } = this;
    const ends = [0.25, 0.75].map((part) => view.heightAt_m(top + part * (bottom - top)));
    const half = Math.min(...ends.map((height_m) => view.half(view.tank.halfWidth_m(height_m))));
    return left > view.middle - half + 4 && right < view.middle + half - 4;
  }
}

function boxOf(x, at, wide, f, anchor) {
  const left = { start: x, middle: x - wide / 2, end: x - wide }[anchor];
  return { left, right: left + wide, top: at - 0.5 * f, bottom: at + 0.5 * f, f };
}

function apart(one, other) {
  const gap = 0.25 * one.f;
  return one.right < other.left || one.left > other.right || one.bottom + gap < other.top || one.top - gap > other.bottom;
}
