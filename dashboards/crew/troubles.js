// What of the monitor's own does not work: a source of readings, the journal, the broker, the horn, the permit.

import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { job } from "./sheet.js";

/** [{short, what, do, detail}]; `detail` in the monitor's own words. */
export function troubles({ feeds = [], faults = [], journal, notices, horn, permit }) {
  const of = (key, status, name = "") => (!status || status.ok ? null
    : { short: t(`trouble.${key}`, { name }), do: t(`trouble.${key}_do`), detail: [status.why, status.do].filter(Boolean).join(" ") });
  const wrong = faults.map((part) => ({ short: t("trouble.fault"), do: t("trouble.fault_do"), detail: part }));
  const found = [...wrong, ...feeds.map((feed) => of("feed", feed, feed.name)), of("journal", journal), of("notices", notices), of("horn", horn)];
  if (permitStopped({ permit })) found.unshift({ short: t("permit.stopped"), do: t("permit.why"), detail: "" });
  return found.filter(Boolean);
}

/** The first in a few words, and how many more. */
export function troublesShort(state) {
  const [first, ...rest] = troubles(state);
  if (!first) return "";
  return rest.length ? t("trouble.more", { first: first.short, n: rest.length }) : first.short;
}

export function permitStopped({ permit }) {
  return Boolean(permit) && permit.on === false;
}

export function openTroubles(sheet, state) {
  const one = ({ short, do: what, detail }) => el("article", { class: "detail" },
    el("h3", {}, short), el("p", {}, what), detail ? el("p", { class: "detail-facts", lang: "en" }, detail) : null);
  sheet.open(t("trouble.title"), troubles(state).map(one));
}

/** The permit goes on only by a person at the rig with every trigger shut: each is asked before the key can be used. */
export function openPermit(sheet, acts, state) {
  const asks = ["permit.at_rig", "permit.triggers", "permit.cause"];
  const boxes = asks.map(() => el("input", { type: "checkbox", onchange: () => { go.disabled = !boxes.every((box) => box.checked); } }));
  const tell = async () => (await acts.tell("reset-permit", t("permit.reset"))) && sheet.close();
  const go = job(t("permit.reset"), tell, { class: "job job-main", disabled: true });
  sheet.open(
    t("permit.title"),
    el("p", { class: "strong" }, t(`permit.why_${state.permit.why || "start"}`)),
    el("p", {}, t("permit.why")),
    el("fieldset", { class: "asks" }, el("legend", {}, t("permit.ask")), asks.map((key, i) => el("label", { class: "ask" }, boxes[i], el("span", {}, t(key))))),
    el("p", {}, t("permit.safety")),
    el("div", { class: "jobs" }, go),
  );
}
