// The sites: each one's tap by hour of the day, how it sagged, its hose, its notes, and the jobs that were done there.

import { zoneShift_s } from "../history/zone.js";
import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { asked } from "./books.js";
import { tapHours } from "./charts.js";
import { bare, flow, hours, moment, span, unit } from "./figures.js";
import { figures, table } from "./tables.js";

const HOUR_S = 3600;
const SAGS = 0.1; // of the best hour: less is no sagging

export class Sites {
  constructor(site) {
    this.site = site;
  }

  async ask() {
    const said = await asked("/api/sites");
    if (this.site === null) return said;
    return { ...said, one: said.sites.find((each) => each.site === this.site), jobs: await asked(`/api/sites/jobs?site=${encodeURIComponent(this.site)}`) };
  }

  title() {
    return this.site === null ? t("books.sites") : this.site;
  }

  tools() {
    return [el("a", { class: "button", href: "/books" }, t("books.to_books")), this.site === null ? null : el("a", { class: "button", href: "/sites" }, t("books.sites"))].filter(Boolean);
  }

  draw(said) {
    return this.site === null ? this.all(said) : this.page(said);
  }

  all({ sites, rig }) {
    if (!sites.length) return [el("p", { class: "empty" }, t("books.no_sites"))];
    const rows = sites.map((site) => {
      const seen = tap(site);
      return [el("a", { href: `/sites?site=${encodeURIComponent(site.site)}` }, site.site), site.visited ? moment(site.visited, rig.timezone) : "–", seen ? flow(seen.mean) : t("books.no_tap"), site.hose || "–", site.note || ""];
    });
    return [table(t("books.sites"), ["site", "visited", "tap", "hose", "note"].map((key) => t(`books.${key}`)), rows)];
  }

  page({ one, jobs, rig }) {
    if (!one) return [el("p", { class: "empty" }, t("books.no_such_site"))];
    const seen = tap(one);
    const local = localHours(one, rig.timezone);
    return [
      figures([[t("books.visited"), one.visited ? moment(one.visited, rig.timezone) : "–"], [t("books.tap"), seen ? flow(seen.mean) : t("books.no_tap"), "tap"], [t("books.hose"), one.hose || "–"], [t("books.jobs"), String(jobs.length)]]),
      one.note ? el("p", { class: "note" }, t("books.note_said", { note: one.note })) : null,
      el("section", {}, el("h2", {}, t("books.tap_hours")), local.length ? [tapHours(local), el("p", {}, sagged(local))] : el("p", {}, t("books.no_tap"))),
      el("section", {}, el("h2", {}, t("books.jobs")), this.jobs(jobs, rig)),
    ].filter(Boolean);
  }

  jobs(jobs, rig) {
    if (!jobs.length) return el("p", {}, t("books.no_jobs"));
    const rows = [...jobs].reverse().map((job) => [el("a", { href: `/books?job=${job.ended}` }, moment(job.began, rig.timezone)), hours(job.ended - job.began), bare(job.used_l), t("books.of", { n: job.answers, all: job.alarms }), job.note || ""]);
    return table(t("books.jobs"), [t("books.began"), t("books.lasted"), `${t("books.used")} (${unit()})`, t("books.alarms_answered"), t("books.note")], rows);
  }
}

/** Over all hours, each by how long it was seen. */
function tap({ hours: seen }) {
  const all = Object.values(seen || {});
  const long_s = all.reduce((sum, [s]) => sum + s, 0);
  return long_s < 60 ? null : { mean: all.reduce((sum, [s, mean]) => sum + s * mean, 0) / long_s, seen_s: long_s };
}

/** Kept by hours of UTC; shown by those of the rig's place, as its clock stood at the last visit. */
function localHours({ hours: seen, visited }, timezone) {
  const shift_h = Math.round(zoneShift_s(visited || 0, timezone) / HOUR_S);
  return Object.entries(seen || {}).filter(([, [s]]) => s >= 30).map(([utc, [seen_s, mean, low, high]]) => ({ hour: (((Number(utc) + shift_h) % 24) + 24) % 24, seen_s, mean, low, high })).sort((a, b) => a.hour - b.hour);
}

function sagged(local) {
  const best = local.reduce((a, b) => (b.mean > a.mean ? b : a));
  const worst = local.reduce((a, b) => (b.mean < a.mean ? b : a));
  const least = local.reduce((a, b) => (b.low < a.low ? b : a));
  const seen = span(local.reduce((sum, each) => sum + each.seen_s, 0));
  if (best.mean - worst.mean < SAGS * best.mean) return t("books.steady", { low: flow(least.low), time: seen });
  const of = ({ hour, mean }) => ({ flow: flow(mean), hour: `${hour}:00` });
  return t("books.sagged", { from: of(best).flow, at: of(best).hour, to: of(worst).flow, then: of(worst).hour, low: flow(least.low), time: seen });
}
