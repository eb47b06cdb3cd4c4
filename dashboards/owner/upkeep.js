// Upkeep: engine hours, what is due, and what a cold night asks for.

import { el, svg } from "../shared/dom.js";
import { currentLanguage, t } from "../shared/words.js";
import { amount } from "./amounts.js";

const WIDE = 320;
const HIGH = 56;

export function upkeep({ hours, season, upkeep: { services, freeze } }, done) {
  return [
    el("h2", {}, t("owner.upkeep")),
    el("ul", { class: "plainly" }, hours.map((each) => el("li", {}, t("owner.hours", { pump: each.pump, ran: each.ran_h.toFixed(1), drew: each.drew_h.toFixed(1) })))),
    el("ul", { class: "plainly" }, services.map((each) => el("li", {}, service(each), " ", el("button", { type: "button", onclick: () => done(each.name) }, t("owner.done_today", { name: each.name }))))),
    el("p", { class: "soft" }, t(services.length ? "owner.manual" : "owner.no_services")),
    el("h3", {}, t("owner.season.title")),
    el("ul", { class: "seasons" }, season.map(drawn)),
    freeze.tonight.length ? el("div", {}, el("h3", {}, t(`owner.frost.${freeze.word}`, { lowest: degrees(freeze.coldest_c) })), el("ul", { class: "plainly" }, freeze.tonight.map((each) => el("li", {}, t(`owner.frost.${each}`))))) : "",
  ];
}

function service(each) {
  const of = each.pump ? `${each.name} · ${each.pump}` : each.name;
  return t(`owner.due.${each.due}`, { name: of, hours: each.since_h.toFixed(1), days: each.since_days.toFixed(0) });
}

function degrees(celsius) {
  return `${Math.round(celsius)} °C (${Math.round(celsius * 1.8 + 32)} °F)`;
}

/** A pump's draw from day to day, and what its change points at: suspects, no finding. */
function drawn({ pump, days, verdict, change, look_at, pressure_days, pressure_change, nozzle_worn }) {
  const signed = (share) => `${share < 0 ? "−" : "+"}${Math.abs(Math.round(100 * share))} %`;
  const percent = signed(change);
  const said = t(`owner.season.${verdict.replaceAll(" ", "_")}`, { pump, change: percent, n: days.length });
  return el("li", {}, el("p", {}, said),
    days.length > 1 ? line(pump, days) : null,
    pressure_change === null ? null : el("p", {}, t(nozzle_worn ? "owner.season.nozzle_worn" : "owner.season.pressure", { change: signed(pressure_change), n: pressure_days })),
    look_at.length ? el("p", {}, t("owner.season.look", { list: new Intl.ListFormat(currentLanguage(), { type: "disjunction" }).format(look_at.map((each) => t(`owner.season.${each}`))) })) : null);
}

function line(pump, days) {
  const rates = days.map(([, rate]) => rate);
  const [low, high] = [0.9 * Math.min(...rates), 1.1 * Math.max(...rates)];
  const x = (n) => 4 + ((WIDE - 8) * n) / (days.length - 1);
  const y = (rate) => HIGH - 4 - ((HIGH - 8) * (rate - low)) / (high - low);
  const words = t("owner.season.picture", { pump, from: amount(rates[0], "flow"), to: amount(rates.at(-1), "flow") });
  return el("figure", {}, svg("svg", { class: "season", viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": words },
    svg("polyline", { points: rates.map((rate, n) => `${x(n).toFixed(1)},${y(rate).toFixed(1)}`).join(" ") })), el("figcaption", { class: "soft" }, words));
}
