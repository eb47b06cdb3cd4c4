// A wet finger bounces, and a glove touches twice: the second touch must not fall on what has just come to stand where
// the first one fell, such as a button of the sheet that it opened.

const BOUNCE_MS = 400;
const SAME_PLACE_PX = 48;

export function swallowBounces(root) {
  let first = null;
  root.addEventListener("click", (event) => {
    if (event.detail === 0) return; // by a key
    const touch = { ms: event.timeStamp, x: event.clientX, y: event.clientY, on: event.target.closest("button, a, label") };
    const again = first && touch.ms - first.ms < BOUNCE_MS && Math.hypot(touch.x - first.x, touch.y - first.y) < SAME_PLACE_PX;
    if (again && touch.on !== first.on) {
      event.preventDefault();
      event.stopPropagation();
    } else first = touch;
  }, { capture: true });
}
