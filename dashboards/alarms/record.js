// How many alarms were too many, who called most, and each time that one stood.

import { asked } from "../shared/asked.js";
import { el, svg } from "../shared/dom.js";
import { alarmWords, t } from "../shared/words.js";
import { moment, number, span } from "./times.js";

const BAR_HEIGHT = 100;

export function named(one) {
  const { title } = alarmWords(one.alarm);
  return one.subject ? `${title} · ${one.subject}` : title;
}

export function yardstick(record) {
  const { in_ten_min, verdict, told, most_in_ten_min, floods, yardstick: aims } = record;
  const figures = [
    ["rate.told", number(told, 0)],
    ["rate.in_ten", number(in_ten_min, 2)],
    ["rate.most", number(most_in_ten_min, 0)],
    ["rate.floods", number(floods.length, 0)],
  ];
  return [
    el("p", { class: "verdict", "data-verdict": verdict }, t(`rate.verdict_${verdict.replace(" ", "_")}`)),
    el("dl", { class: "figures" }, figures.map(([key, said]) => el("div", {}, el("dt", {}, t(key)), el("dd", {}, asked(`${key}_why`, said))))),
    bars(record),
    el("p", { class: "soft" }, t("rate.yardstick", { good: aims.acceptable, most: aims.manageable, flood: aims.flood })),
  ];
}

/** One bar for each ten minutes; a line where it becomes a flood. */
function bars({ ten_minutes, yardstick: aims }) {
  const most = Math.max(aims.flood + 2, ...ten_minutes);
  const wide = 1000 / ten_minutes.length;
  const drawn = ten_minutes.map((n, k) => {
    const high = (BAR_HEIGHT * n) / most;
    return svg("rect", { class: n > aims.flood ? "bar flood" : "bar", x: k * wide, y: BAR_HEIGHT - high, width: Math.max(1, wide - 1), height: high });
  });
  const line = BAR_HEIGHT * (1 - aims.flood / most);
  return svg("svg", { class: "bars", viewBox: `0 0 1000 ${BAR_HEIGHT}`, preserveAspectRatio: "none", role: "img", "aria-label": t("rate.bars", { n: Math.max(0, ...ten_minutes) }) },
    drawn, svg("line", { class: "limit", x1: 0, x2: 1000, y1: line, y2: line }));
}

export function offenders({ offenders: all }) {
  if (!all.length) return el("p", {}, t("rate.none"));
  const rows = all.slice(0, 10).map((one) => el("tr", {},
    el("th", { scope: "row" }, named(one)), el("td", {}, number(one.told, 0)), el("td", {}, `${Math.round(100 * one.share)} %`), el("td", {}, span(one.stood_s))));
  return table(["rate.alarm", "rate.calls", "rate.share", "rate.stood"], rows);
}

export function stood({ stood: all, left_out, end }, timezone) {
  if (!all.length) return el("p", {}, t("rate.none"));
  const rows = [...all].reverse().map((one) => el("tr", {},
    el("td", {}, el("time", {}, moment(one.begun, timezone))),
    el("th", { scope: "row" }, el("span", { class: "mark", "data-priority": one.priority }), named(one)),
    el("td", {}, one.ended === null ? t("rate.still", { time: span(end - one.begun) }) : span(one.ended - one.begun)),
    el("td", {}, one.acknowledged === null ? t("rate.unseen") : t("rate.seen_by", { who: one.by || t("rate.somebody"), time: span(one.acknowledged - one.begun) })),
    el("td", { class: "told" }, one.told)));
  return [table(["rate.when", "rate.alarm", "rate.stood", "rate.seen", "rate.said"], rows), left_out ? el("p", { class: "soft" }, t("rate.left_out", { n: left_out })) : null];
}

function table(heads, rows) {
  return el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": t(heads[0]) },
    el("table", {}, el("thead", {}, el("tr", {}, heads.map((key) => el("th", { scope: "col" }, t(key))))), el("tbody", {}, rows)));
}
