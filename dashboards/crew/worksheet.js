// The sheet that starts a job and finishes it: a touch to open, a touch to say so; names and notes may be left out.

import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";
import { job } from "./sheet.js";

export function workKey(state) {
  return state.work && state.work.job ? "job.finish" : "job.start";
}

export function openWork(sheet, acts, state) {
  const key = workKey(state);
  const { site, sites, job: open } = state.work || { site: "", sites: [], job: null };
  const fields = open ? [field("note", "")] : [field("site", site, sites), field("hose", ""), field("note", "")];
  const tell = async () => {
    const said = Object.fromEntries(fields.map(({ name, input }) => [name, input.value.trim()]).filter(([, text]) => text));
    if (await acts.tell(open ? "finish-job" : "start-job", t(key), said)) sheet.close();
  };
  const now = open ? el("p", { class: "strong" }, t("job.now", { site: open.site || t("job.no_site"), volume: say.volume(open.used_l) })) : null;
  sheet.open(t(key), now, el("div", { class: "jobs" }, job(t(key), tell, { class: "job job-main" })), fields.map(({ node }) => node));
}

function field(name, value, choices = []) {
  const input = el("input", { type: "text", id: `work-${name}`, maxlength: name === "note" ? 400 : 80, autocomplete: "off", list: choices.length ? "work-sites" : null, value });
  const known = choices.length ? el("datalist", { id: "work-sites" }, choices.map((each) => el("option", { value: each }))) : null;
  return { name, input, node: el("p", { class: "field" }, el("label", { for: `work-${name}` }, t(`job.${name}`)), input, known) };
}
