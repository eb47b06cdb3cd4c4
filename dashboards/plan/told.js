// The answer in words. Each figure opens to say what it is, how it is worked out and what to do about it.

import * as say from "../crew/say.js";
import { keptOpen } from "../shared/asked.js";
import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";

const SURE = 0.95;
const LIKELY = 0.6;
const MAY_BE = 0.2;
const PA_PER_PSI = 6894.757293168;

export function headline({ plan, tap }) {
  const word = plan.lasts >= SURE ? "yes" : plan.lasts >= LIKELY ? "likely" : plan.lasts >= MAY_BE ? "maybe" : "hardly";
  return [
    tap.upper_bound ? el("p", { class: "bound" }, t("plan.at_best")) : null,
    el("h2", { class: `lasts ${word}` }, t(`plan.lasts_${word}`)),
    el("p", { class: "days" }, t("plan.days", { n: say.whole(100 * plan.lasts) })),
  ].filter(Boolean);
}

export function figures(answer) {
  const { plan, tap, road } = answer;
  const rows = [["first", first(plan)], ["waits", waits(plan)], ["used", between(plan.used_l, say.volume)],
    ["carried", carried(plan)], ["bring", plan.bring_l === null ? t("plan.bring_none") : roughly(plan.bring_l)],
    ["tap_said", `${say.flow(tap.l_min)} ± ${say.flow(tap.sd_l_min)}`], ["road", onTheRoad(road)]];
  return el("div", { class: "figures" },
    rows.map(([key, value]) => figure(key, value)), answer.hoses.map((hose) => figure("gun", gun(hose), hose.pump)),
    el("p", { class: "caution" }, t("plan.tow_caution")), road.surges ? el("p", { class: "caution" }, t("plan.surges")) : null,
    answer.hoses.some((hose) => hose.rating === "near" || hose.rating === "over") ? el("p", { class: "caution" }, t("plan.injects")) : null,
    el("p", { class: "note" }, t(Object.values(answer.seen_h).some((n) => n > 0) ? "plan.learned" : "plan.guessed")));
}

/** `of`: which, where there are several of a kind. */
function figure(key, value, of = "") {
  return el("details", { class: `figure ${key}`, ...keptOpen(`plan.${key} ${of}`) }, el("summary", {}, el("span", { class: "name" }, t(`plan.${key}`)), el("strong", {}, value)), el("p", {}, t(`plan.${key}_why`)));
}

function roughly(litres) {
  return say.volume(litres, 25);
}

function first({ worked_s }) {
  if (worked_s.low === null) return t("plan.no_wait");
  const early = say.bareSpan(worked_s.low);
  return worked_s.middle === null ? t("plan.first_rare", { early }) : t("plan.first_after", { middle: say.bareSpan(worked_s.middle), early });
}

function waits({ waits: many, waiting_s }) {
  if (many.high === 0) return t("plan.no_wait");
  return t("plan.waits_said", { middle: say.whole(many.middle), high: say.whole(many.high), time: say.bareSpan(waiting_s.middle), most: say.bareSpan(waiting_s.high) });
}

function between({ low, middle, high }, words) {
  return t("plan.between", { low: words(low, 50), middle: words(middle, 50), high: words(high, 50) });
}

function carried(plan) {
  if (plan.carried.length === 0) return t("plan.carries_none");
  return plan.carried.slice(0, 3).map((some) => say.names(some)).join(" · ");
}

function onTheRoad({ weighs_kg, most_l }) {
  const weighs = say.weight(weighs_kg / 0.99902);
  return most_l === null ? weighs : t("plan.road_said", { weighs, most: say.volume(most_l) });
}

function gun({ pump, pump_pa, gun_pa, rating, extra_m }) {
  const psi = (pa) => t("plan.psi", { psi: say.whole(pa / PA_PER_PSI / 10) + "0", kpa: say.whole(pa / 10_000) + "0" });
  const added = extra_m ? ` ${t("plan.gun_added", { ft: say.whole(extra_m / 0.3048), m: say.whole(extra_m) })}` : "";
  const said = t("plan.gun_said", { pump, set: psi(pump_pa), left: psi(gun_pa) }) + added;
  return rating === "near" || rating === "over" ? `${said} ${t(`plan.rating_${rating}`)}` : said;
}
