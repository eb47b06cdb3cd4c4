// A month's book: what was used and by what, each day, each job, each alarm and who answered.

import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { asked } from "./books.js";
import { dayBars } from "./charts.js";
import { bare, dayName, hours, monthName, shortMoment, unit, units, volume } from "./figures.js";
import { alarms, figures, table } from "./tables.js";

export class MonthBook {
  constructor(month) {
    this.month = month;
  }

  ask() {
    return asked(`/api/books?month=${encodeURIComponent(this.month || "")}`);
  }

  title({ month }) {
    return t("books.month_title", { month: monthName(month) });
  }

  tools({ months, month }) {
    const at = months.indexOf(month);
    const way = (other, words) => (other ? el("a", { class: "button", href: `/books?month=${other}` }, words) : null);
    const csv = (name) => el("a", { class: "button", href: `/api/books/${name}.csv?month=${month}&units=${units()}`, download: "" }, t(`books.csv_${name}`));
    return [way(months[at - 1], t("books.earlier")), at >= 0 ? way(months[at + 1], t("books.later")) : null, el("a", { class: "button", href: "/sites" }, t("books.sites")), csv("days"), csv("jobs")].filter(Boolean);
  }

  draw(said) {
    const { days, pumps, rig, month } = said;
    if (!days.length) return [el("p", { class: "empty" }, t("books.empty_month"))];
    const [year, number] = month.split("-").map(Number);
    return [
      this.sums(said),
      el("section", {}, el("h2", {}, t("books.by_day")), dayBars(days, pumps, new Date(Date.UTC(year, number, 0)).getUTCDate()), this.days(said)),
      el("section", {}, el("h2", {}, t("books.jobs")), this.jobs(said)),
      el("section", {}, el("h2", {}, t("books.alarms")), alarms(said.alarms, rig.timezone, true), said.left_out ? el("p", { class: "soft" }, t("books.left_out", { n: said.left_out })) : null),
    ];
  }

  sums({ sum, jobs, pumps, days }) {
    const chemical_l = Object.values(sum.chemical_l).reduce((all, each) => all + each, 0);
    return figures([
      [t("books.used"), volume(sum.used_l), "used"], [t("books.in"), volume(sum.in_l), "in"],
      ...pumps.map((pump) => [pump, volume(sum.pumps_l[pump]), "pump"]),
      [t("books.chemical"), chemical_l ? volume(chemical_l, 1) : t("books.not_told"), "chemical"],
      [t("books.days"), String(days.filter((day) => day.used_l > 0.5).length), "days"], [t("books.jobs"), String(jobs.length), "jobs"],
      [t("books.alarms_answered"), t("books.of", { n: sum.answers, all: sum.alarms }), "answered"], [t("books.watched"), hours(sum.watched_s), "watched"],
    ]);
  }

  days({ days, pumps, sum }) {
    const untold = days.some((day) => day.untold_l > 0.5);
    const row = (day, first) => [first, bare(day.in_l), bare(day.used_l), ...pumps.map((pump) => bare(day.pumps_l[pump])), ...(untold ? [bare(day.untold_l)] : []),
      bare(Object.values(day.chemical_l).reduce((all, each) => all + each, 0), 1), hours(day.watched_s), t("books.of", { n: day.answers, all: day.alarms })];
    const heads = [t("books.day"), `${t("books.in")} (${unit()})`, `${t("books.used")} (${unit()})`, ...pumps.map((pump) => `${pump} (${unit()})`), ...(untold ? [`${t("books.untold")} (${unit()})`] : []),
      `${t("books.chemical")} (${unit()})`, t("books.watched"), t("books.alarms_answered")];
    return table(t("books.by_day"), heads, days.map((day) => row(day, dayName(day.day))), row(sum, t("books.sum")));
  }

  jobs({ jobs, rig }) {
    if (!jobs.length) return el("p", {}, t("books.no_jobs"));
    const rows = jobs.map((job) => [
      el("a", { href: `/books?job=${job.ended}` }, shortMoment(job.began, rig.timezone)), job.site || t("books.no_site"), job.by || "–",
      bare(job.used_l), bare(job.in_l), hours(job.ended - job.began), t("books.of", { n: job.answers, all: job.alarms }), job.note || "",
    ]);
    const heads = [t("books.began"), t("books.site"), t("books.who"), `${t("books.used")} (${unit()})`, `${t("books.in")} (${unit()})`, t("books.lasted"), t("books.alarms_answered"), t("books.note")];
    return table(t("books.jobs"), heads, rows);
  }
}
