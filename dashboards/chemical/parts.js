// What one pump's chemical line shows: the countdown, the walk when no soap comes, the mix, the tank, the hose.

import { asked } from "../shared/asked.js";
import { countdown as counting } from "../shared/countdown.js";
import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { figure, flow, length, litres, pressure, reels, span, unitOf, volume } from "./amounts.js";

export function countdown(line, pump, tell) {
  const press = (act, key) => el("button", { type: "button", class: "large", "aria-pressed": String(line.mode === (act === "soaping" ? "soap" : "clear")), onclick: () => tell(act, {}) }, t(key));
  return [
    el("h2", {}, t("chemical.now")),
    asked("chemical.count_why", el("span", { class: "count", role: "status" }, counted(line, pump))),
    el("div", { class: "choices" }, press("soaping", "act.soaping"), press("rinsing", "act.rinsing")),
    line.line_s === null ? el("p", { class: "soft" }, t("chemical.no_hose")) : asked("chemical.line_why", t("chemical.line", { time: span(line.line_s) })),
  ];
}

function counted(line, pump) {
  if (!line.mode) return t("chemical.idle");
  if (line.to_go_s === null) return t(line.mode === "soap" ? "chemical.soap_now" : "chemical.clear_now");
  return counting(line, pump, span);
}

/** In order: what the signals accuse, then the rest, without what they clear. */
export function noSoap({ look_at, accused, mode }) {
  const step = (check) => el("li", { class: accused.includes(check) ? "accused" : "" },
    accused.includes(check) ? el("strong", {}, `${t("chemical.signals_say")} `) : null, t(`chemical.look_${check}`));
  return [
    el("h2", {}, t("chemical.no_soap")),
    el("p", { class: "soft" }, t(mode === "soap" ? "chemical.no_soap_how" : "chemical.no_soap_first")),
    el("ol", { class: "walk" }, look_at.map(step)),
  ];
}

export function mix(line, all, strength, units, choose) {
  const field = el("input", { type: "number", min: 0.1, max: 100, step: 0.1, value: strength ?? "", id: "strength", onchange: (event) => choose(Number(event.target.value) || null) });
  const rows = all.filter((each) => each.injects_l_min !== null).map((each) => el("p", { class: each.pump === line.pump ? "sum" : "sum other" }, sum(each, strength, units)));
  return [
    el("h2", {}, t("chemical.mix")),
    el("p", { class: "field" }, el("label", { for: "strength" }, t("chemical.strength")), field),
    ...(rows.length ? rows : [el("p", {}, t("chemical.no_injector"))]),
    el("p", { class: "soft" }, t("chemical.mix_why")),
  ];
}

function sum({ pump, injects_l_min, flow_l_min }, strength, units) {
  const parts = figure(flow_l_min / injects_l_min, 0);
  if (!strength) return t("chemical.parts", { pump, parts });
  const lands = (strength * injects_l_min) / (injects_l_min + flow_l_min);
  return `${pump}: ${figure(strength, 1)} % × ${flow(injects_l_min, units)} / (${flow(injects_l_min, units)} + ${flow(flow_l_min, units, 1)}) = ${figure(lands, 2)} % ${t("chemical.lands")} (1 : ${parts})`;
}

export function tank(line, tell, units) {
  const left = field("chemical-left", t("chemical.filled_to", { unit: unitOf(units) }));
  const drawn = field("chemical-drawn", t("chemical.drawn", { unit: unitOf(units) }));
  const took = field("chemical-took", t("chemical.took"));
  const filled = () => { const value = litres(left.input.value, units); if (value !== null) tell("chemical-filled", { volume_l: value }); };
  const measured = () => { const value = litres(drawn.input.value, units); const seconds = Number(took.input.value.replace(",", ".")); if (value && seconds > 0) tell("drew-down", { volume_l: value, seconds }); };
  return [
    el("h2", {}, t("chemical.tank")),
    asked("chemical.left_why", line.left_l === null ? t("chemical.left_unknown") : t("chemical.left", { volume: volume(line.left_l, units) }), { class: "count small" }),
    line.lasts_s ? asked("chemical.lasts_why", t("chemical.lasts", { time: span(line.lasts_s) })) : null,
    el("div", { class: "form" }, left.node, el("button", { type: "button", onclick: filled }, t("chemical.fill")),
      line.tank_l ? el("button", { type: "button", onclick: () => tell("chemical-filled", { volume_l: line.tank_l }) }, t("chemical.full", { volume: volume(line.tank_l, units) })) : null),
    el("h3", {}, t("chemical.draw_down")),
    el("p", { class: "soft" }, t("chemical.draw_down_how")),
    line.injects_l_min === null ? el("p", {}, t("chemical.not_measured"))
      : asked("chemical.injects_why", t(line.measured ? "chemical.measured" : "chemical.by_file", { flow: flow(line.injects_l_min, units), parts: figure(line.flow_l_min / line.injects_l_min, 0) })),
    el("div", { class: "form" }, drawn.node, took.node, el("button", { type: "button", onclick: measured }, t("chemical.keep"))),
  ];
}

function field(id, words) {
  const input = el("input", { type: "text", inputmode: "decimal", id, autocomplete: "off" });
  return { input, node: el("p", { class: "field" }, el("label", { for: id }, words), input) };
}

export function hose(line, tell, units) {
  if (line.line_s === null) return [el("h2", {}, t("chemical.hose")), el("p", {}, t("chemical.no_hose"))];
  const near = (metres) => Math.abs(metres - line.extra_m) < 1.5;
  const buttons = reels(units).map((metres) => el("button", { type: "button", "aria-pressed": String(near(metres)), onclick: () => tell("hose-added", { length_m: metres }) }, metres ? `+ ${length(metres, units)}` : t("chemical.no_extra")));
  return [
    el("h2", {}, t("chemical.hose")),
    el("div", { class: "choices", role: "group", "aria-label": t("chemical.extra") }, buttons),
    el("p", {}, t("chemical.line", { time: span(line.line_s) })),
    line.gun_pa === null ? null : asked("chemical.gun_why", t(line.measured_pa === null ? "chemical.gun" : "chemical.gun_measured", { set: pressure(line.pump_pa, units), left: pressure(line.gun_pa, units) })),
    line.rating === "near" || line.rating === "over" ? el("p", { class: "caution" }, `${t(`chemical.rating_${line.rating}`)} ${t("chemical.injects")}`) : null,
  ];
}
