// What stands, is quiet for a while or is out of service, and the catalogue with the owner's switch.

import { el } from "../shared/dom.js";
import { alarmWords, t } from "../shared/words.js";
import { span } from "./times.js";

const STATES = {
  "unacknowledged": "alarm.state_unacknowledged", "acknowledged": "alarm.state_acknowledged",
  "returned to normal unacknowledged": "alarm.state_returned", "shelved": "alarm.state_shelved",
  "suppressed by design": "alarm.state_suppressed", "out of service": "alarm.state_out",
};

export function standing(state, tell) {
  if (!state.alarms.length) return el("p", {}, t("alarm.none"));
  return el("ul", { class: "standing" }, state.alarms.map((one) => el("li", {},
    el("span", { class: "mark", "data-priority": one.priority }),
    el("span", { class: "name" }, el("strong", {}, title(one)), ` ${t(STATES[one.state] || "alarm.none")}${until(one, state.at)}`),
    back(one, tell))));
}

function title(one) {
  const subject = one.pump || one.signal || one.node;
  const said = alarmWords(one.alarm, one.variant).title;
  return subject ? `${said} · ${subject}` : said;
}

function until(one, at) {
  if (one.under) return `, ${t("rate.under", { cause: alarmWords(one.under).title })}`;
  return one.shelved_until ? `, ${t("rate.until", { time: span(Math.max(0, one.shelved_until - at)) })}` : "";
}

function back(one, tell) {
  const about = Object.fromEntries(["pump", "signal", "node"].filter((key) => one[key]).map((key) => [key, one[key]]));
  if (one.state === "shelved") return button("alarm.speak_again", () => tell("unshelve", { alarm: one.alarm, ...about }));
  if (one.state === "out of service") return button("out.back", () => tell("out-of-service", { alarm: one.alarm, on: false, ...about }));
  return null;
}

export function catalogue(entries, state, tell) {
  const out = new Set(state.alarms.filter((one) => one.state === "out of service").map((one) => one.alarm));
  return entries.map((entry) => {
    const said = alarmWords(entry.alarm);
    return el("details", { class: "entry" },
      el("summary", {}, el("span", { class: "mark", "data-priority": entry.priority }), el("strong", {}, said.title), el("span", { class: "soft" }, t(`alarm.${entry.priority}`)), out.has(entry.alarm) ? el("span", { class: "tag" }, t("alarm.state_out")) : null),
      el("dl", {}, part("alarm.cause", said.cause), part("alarm.consequence", said.consequence),
        part("alarm.do", el("ol", {}, said.steps.map((step) => el("li", {}, step)))),
        said.cautions.length ? part("alarm.caution", el("ul", {}, said.cautions.map((caution) => el("li", {}, caution)))) : null,
        part("cat.respond", span(entry.respond_s)), part("cat.settles", t("cat.delays", { on: span(entry.on_delay_s), off: span(entry.off_delay_s) })),
        part("cat.quiet", quiet(entry)), entry.release ? part("cat.horn", t("cat.release")) : null),
      service(entry, out.has(entry.alarm), tell));
  });
}

function part(key, said) {
  return el("div", {}, el("dt", {}, t(key)), el("dd", {}, said));
}

function quiet(entry) {
  if (!entry.shelve_max_s) return t("cat.never_quiet");
  const modes = entry.quiet_when.map((mode) => t(`cat.mode_${mode.replaceAll(" ", "_")}`)).join(", ");
  return `${t("cat.shelve", { time: span(entry.shelve_max_s) })} ${t("cat.by_design", { modes })}`;
}

function service(entry, out, tell) {
  if (!entry.shelve_max_s) return el("p", { class: "soft" }, t("out.never"));
  if (out) return button("out.back", () => tell("out-of-service", { alarm: entry.alarm, on: false }));
  return button("out.take", () => confirm(t("out.sure", { title: alarmWords(entry.alarm).title })) && tell("out-of-service", { alarm: entry.alarm, on: true }));
}

function button(key, run) {
  return el("button", { type: "button", onclick: run }, t(key));
}
