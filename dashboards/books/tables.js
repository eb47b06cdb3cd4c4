// Tables that go on over a page with their heads, and the list of alarms with who answered.

import { el } from "../shared/dom.js";
import { alarmWords, t } from "../shared/words.js";
import { clock, shortMoment, span } from "./figures.js";

/** `heads`: words; `rows`: lists of cells, the first of each the row's heading; a cell may be an element. */
export function table(title, heads, rows, last = null) {
  const row = ([first, ...cells], name) => el("tr", { class: name }, el("th", { scope: "row" }, first), cells.map((cell) => el("td", {}, cell)));
  return el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": title },
    el("table", {}, el("thead", {}, el("tr", {}, heads.map((head) => el("th", { scope: "col" }, head)))),
      el("tbody", {}, rows.map((cells) => row(cells)), last ? row(last, "sum") : null)));
}

/** Each time that an alarm stood: when, which, for how long, who answered and how soon. */
export function alarms(list, timezone, whole) {
  if (!list.length) return el("p", {}, t("books.no_alarms"));
  const rows = list.map((one) => [
    (whole ? shortMoment : clock)(one.begun, timezone), named(one),
    one.ended === null ? t("books.still") : span(one.ended - one.begun),
    one.acknowledged === null ? t("books.unanswered") : t("books.answered_by", { who: one.by || t("books.somebody"), time: span(one.acknowledged - one.begun) }),
  ]);
  return table(t("books.alarms"), ["when", "alarm", "stood", "answer"].map((key) => t(`books.${key}`)), rows);
}

function named(one) {
  const { title } = alarmWords(one.alarm);
  return one.subject ? `${title} · ${one.subject}` : title;
}

/** Figures in a row: [[words, figure, key of what it is], …]; a touch says what it is, how it is worked out, what to do. */
export function figures(list) {
  return el("div", { class: "figures" }, list.map(([name, said, why]) => {
    const shown = [el("span", { class: "name" }, name), el("strong", {}, said)];
    return why ? el("details", {}, el("summary", {}, shown), el("p", {}, t(`books.why_${why}`))) : el("div", { class: "plainly" }, shown);
  }));
}
