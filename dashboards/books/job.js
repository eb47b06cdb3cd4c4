// A job's sheet: one page for the customer's folder and the crew's.

import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { asked } from "./books.js";
import { waterLine } from "./charts.js";
import { bare, flow, hours, moment, unit, volume } from "./figures.js";
import { alarms, figures, table } from "./tables.js";

export class JobSheet {
  constructor(ended) {
    this.ended = ended;
  }

  ask() {
    return asked(`/api/books/job?ended=${encodeURIComponent(this.ended)}`);
  }

  title({ job }) {
    return t("books.job_title", { site: job.site || t("books.no_site") });
  }

  tools({ job }) {
    const month = new Date(1000 * job.ended).toISOString().slice(0, 7);
    return [el("a", { class: "button", href: `/books?month=${month}` }, t("books.to_month")), job.site ? el("a", { class: "button", href: `/sites?site=${encodeURIComponent(job.site)}` }, t("books.to_site")) : null].filter(Boolean);
  }

  draw(said) {
    const { job, rig, site } = said;
    const said_of = [[t("books.began"), moment(job.began, rig.timezone)], [t("books.ended"), moment(job.ended, rig.timezone)], [t("books.lasted"), hours(job.ended - job.began)],
      [t("books.who"), job.by || "–"], [t("books.used"), volume(job.used_l), "used"], [t("books.in"), volume(job.in_l), "in"]];
    if (job.watched_s > 60) said_of.push([t("books.mean_use"), flow((60 * job.used_l) / job.watched_s), "mean_use"]);
    return [
      figures(said_of),
      site && site.hose ? el("p", {}, t("books.hose_said", { hose: site.hose })) : null,
      job.note ? el("p", { class: "note" }, t("books.note_said", { note: job.note })) : null,
      site && site.note ? el("p", { class: "note" }, t("books.site_note_said", { note: site.note })) : null,
      el("section", {}, el("h2", {}, t("books.by_pump")), this.pumps(job)),
      el("section", {}, el("h2", {}, t("books.water")), waterLine(said)),
      el("section", {}, el("h2", {}, t("books.alarms")), alarms(said.alarms, rig.timezone, false)),
      el("div", { class: "signed on-paper" }, ["crew", "customer"].map((who) => el("p", {}, t(`books.signed_${who}`)))),
    ].filter(Boolean);
  }

  pumps(job) {
    const chemical = job.chemical_l || {};
    const names = [...new Set([...Object.keys(job.pumps_l), ...Object.keys(chemical)])];
    const rows = names.map((pump) => [pump, bare(job.pumps_l[pump]), chemical[pump] ? bare(chemical[pump], 2) : "–"]);
    return table(t("books.by_pump"), [t("books.pump"), `${t("books.used")} (${unit()})`, `${t("books.chemical")} (${unit()})`], rows);
  }
}
