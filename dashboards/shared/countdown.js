// The chemical line after a change at the gun: how long the old water still comes out of it. The monitor counts, by what
// flows, so that every device shows the same; with the trigger closed the line stands.

import { t } from "./words.js";

/** `line` is of the state's `chemical`, `pump` the same one's of its `pumps`; `span` puts seconds into words. */
export function countdown(line, pump, span) {
  const key = line.mode === "soap" ? "soap" : "clear";
  if (line.to_go_s <= 0) return t(`soap.${key}`, { pump: line.pump });
  const stands = pump && (pump.state === "off" || pump.state === "bypass");
  return t(stands ? `soap.${key}_held` : `soap.${key}_in`, { pump: line.pump, time: span(Math.ceil(line.to_go_s)) });
}
