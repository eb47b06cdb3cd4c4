// Panning and zooming: a finger or the mouse drags, two fingers or the wheel stretch, arrow keys and + and - do both.

import { breadth, timeAt } from "./picture.js";

const SHORTEST_S = 60;
const LONGEST_S = 20 * 31557600;

/** The same window made `factor` times as long, with `about` staying where it is. */
export function stretched({ since, until }, factor, about) {
  const length = Math.min(Math.max((until - since) * factor, SHORTEST_S), LONGEST_S);
  const real = length / (until - since);
  const from = about - (about - since) * real;
  return { since: from, until: from + length };
}

export function moved({ since, until }, by_s) {
  return { since: since + by_s, until: until + by_s };
}

/** `get()` gives the window, `set(view)` takes it. */
export function follow(canvas, get, set) {
  const down = new Map();
  const places = () => [...down.values()];
  const middle = () => places().reduce((sum, x) => sum + x, 0) / down.size;
  const apart = () => (down.size < 2 ? 0 : Math.abs(places()[0] - places()[1]));
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    down.set(event.pointerId, event.clientX);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!down.has(event.pointerId)) return;
    const [was, wide] = [middle(), apart()];
    down.set(event.pointerId, event.clientX);
    const view = get();
    const panned = moved(view, ((was - middle()) / breadth(canvas)) * (view.until - view.since));
    const factor = wide > 20 && apart() > 20 ? wide / apart() : 1;
    set(stretched(panned, factor, timeAt(canvas, panned, middle())));
  });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, (event) => down.delete(event.pointerId));
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    set(stretched(get(), 1.0015 ** event.deltaY, timeAt(canvas, get(), event.clientX)));
  }, { passive: false });
  canvas.addEventListener("keydown", (event) => {
    const view = get();
    const length = view.until - view.since;
    const done = { ArrowLeft: () => moved(view, -length / 4), ArrowRight: () => moved(view, length / 4), "+": () => stretched(view, 0.5, view.since + length / 2), "-": () => stretched(view, 2, view.since + length / 2) }[event.key];
    if (done) set(done());
  });
}
