// The day drawn plain, for a set-up without the chart library: the same lines, standing still.

import { svg } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";
import { note, path } from "./view.js";

const HOUR_S = 3600;

export function drawPlain(box, data, { rig }) {
  const { clientWidth: width, clientHeight: height } = box;
  const font = width < 600 ? 13 : 18;
  const [from, to] = [data.wall_s[0], data.now_s + HOUR_S];
  const bottom = height - 1.6 * font;
  const x = (s) => ((s - from) / (to - from)) * width;
  const y = (shown) => bottom * (1 - shown / say.shownVolume(rig.capacity_l));
  const line = (column) => data.wall_s.map((s, i) => [x(s), column[i] === null ? null : y(column[i])]).filter((point) => point[1] !== null);
  const now = x(data.now_s);
  const heel = y(say.shownVolume(rig.heel_l));
  const runs = gapless(data).map((run) => run.map((i) => [x(data.wall_s[i]), y(data.past[i])]));
  box.replaceChildren(svg("svg", { viewBox: `0 0 ${width} ${height}`, class: "picture-canvas" },
    line(data.low).length ? svg("path", { class: "fan", d: `${path([...line(data.low), ...line(data.high).reverse()])}Z` }) : null,
    line(data.middle).length ? svg("path", { class: "fan-middle", d: path(line(data.middle)) }) : null,
    runs.map((run) => svg("path", { class: "water-line", d: path(run) })),
    svg("path", { class: "heel-top", d: `M0,${heel}H${width}` }),
    svg("path", { class: "mark", d: `M${now},0V${bottom}` }),
    note(4, heel - 0.4 * font, t("picture.heel"), font),
    note(4, height - 0.3 * font, say.clock(from, rig.timezone), font),
    note(now, height - 0.3 * font, t("picture.now"), font, now > width - 4 * font ? "end" : "middle", "bold")));
}

/** Where the past is known, as runs of indices. */
function gapless({ past }) {
  const runs = [[]];
  past.forEach((shown, i) => (shown === null ? runs.push([]) : runs[runs.length - 1].push(i)));
  return runs.filter((run) => run.length > 1);
}
