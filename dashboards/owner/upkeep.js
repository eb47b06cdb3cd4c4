// Upkeep: engine hours, what is due, and what a cold night asks for.

import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";

export function upkeep({ hours, upkeep: { services, freeze } }, done) {
  return [
    el("h2", {}, t("owner.upkeep")),
    el("ul", { class: "plainly" }, hours.map((each) => el("li", {}, t("owner.hours", { pump: each.pump, ran: each.ran_h.toFixed(1), drew: each.drew_h.toFixed(1) })))),
    el("ul", { class: "plainly" }, services.map((each) => el("li", {}, service(each), " ", el("button", { type: "button", onclick: () => done(each.name) }, t("owner.done_today", { name: each.name }))))),
    el("p", { class: "soft" }, t(services.length ? "owner.manual" : "owner.no_services")),
    freeze.tonight.length ? el("div", {}, el("p", {}, t(`owner.frost.${freeze.word}`)), el("ul", { class: "plainly" }, freeze.tonight.map((each) => el("li", {}, t(`owner.frost.${each}`))))) : "",
  ];
}

function service(each) {
  const of = each.pump ? `${each.name} · ${each.pump}` : each.name;
  return t(`owner.due.${each.due}`, { name: of, hours: each.since_h.toFixed(1), days: each.since_days.toFixed(0) });
}
