// The calibrations: what to do, its fields and buttons, what came of it, what is kept.

import { el, redrawOn } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { amount, figure, span, typed, unitOf } from "./amounts.js";

const KINDS = ["bucket", "fill", "draw", "level"];
const CAUTIONS = { fill: "owner.fill_caution", draw: "owner.draw_caution" };

/** Draws into `root`; what is being typed stays, since a card is only built anew when its step has changed. */
export function calibration(root, how, owner, send) {
  const said = owner.calibration;
  if (!root.firstChild) {
    for (const name of ["intro", "running", "refusal", "cards", "kept"]) root.append((root[name] = el("div", { class: name })));
    root.refusal.setAttribute("role", "alert");
  }
  const step = async (body) => {
    root.refusal.textContent = await send(body);
  };
  redrawOn(root.intro, how, () => [
    el("h2", {}, t("owner.calibration")), el("p", {}, t("owner.calibration_intro"))]);
  redrawOn(root.running, [how, said.run], () => running(said.run));
  redrawOn(root.cards, [how, owner.choices, said.run && [said.run.what, said.run.of], said.result, said.fillings], () =>
    KINDS.flatMap((what) => owner.choices[what].map((of) => card(what, of, said, step))));
  redrawOn(root.kept, [how, said.kept], () => kept(said.kept, step));
}

function name(what, of) {
  return `${t(`owner.what.${what}`)}${of ? ` · ${of}` : ""}`;
}

function running(run) {
  if (!run) return [];
  const values = {
    what: name(run.what, run.of), time: span(run.since_s), volume: amount(run.counted_l, "volume"),
    height: amount(run.height_m, "length"),
  };
  return el("p", { class: "runs", role: "status" }, t("owner.running", values));
}

function field(key, kind) {
  const input = el("input", { type: "text", inputmode: "decimal", autocomplete: "off" });
  return { input, label: el("label", {}, t(key, { unit: kind ? unitOf(kind) : "" }), input), value: () => typed(input.value, kind) };
}

function press(key, does, off) {
  return el("button", { type: "button", disabled: off, onclick: () => does() }, t(key));
}

function card(what, of, said, step) {
  const here = said.run && said.run.what === what && said.run.of === of;
  const result = said.result && said.result.what === what && said.result.of === of ? said.result : null;
  return el("article", { class: "card" },
    el("h3", {}, name(what, of)),
    el("p", { class: "soft" }, t(`owner.help.${what}`)),
    CAUTIONS[what] ? el("p", { class: "caution" }, t(CAUTIONS[what])) : null,
    el("div", { class: "form" }, what === "level" ? point(of, step) : whatRuns(what, of, here, Boolean(said.run), step)),
    what === "bucket" && said.fillings ? el("p", {}, t("owner.fillings", { n: said.fillings })) : null,
    result ? outcome(result, step) : null);
}

function whatRuns(what, of, here, busy, step) {
  if (!here) {
    const start = what === "fill" ? field("owner.start", "volume") : null;
    const begin = () => step({ step: "begin", what, of, start_l: start ? start.value() : null });
    return [start && start.label, press("owner.begin", begin, busy)];
  }
  const known = what === "bucket" ? field("owner.known", "volume") : null;
  const seconds = what === "bucket" ? field("owner.seconds") : null;
  const end = () => step({
    step: "end", known_l: known ? known.value() : null, seconds: seconds ? seconds.value() : null,
  });
  return [known && known.label, seconds && seconds.label, press("owner.end", end), press("owner.drop", () => step({ step: "drop" }))];
}

function point(of, step) {
  const height = field("owner.height", "length");
  return [height.label, press("owner.point", () => step({ step: "point", what: "level", of, height_m: height.value() }))];
}

function outcome(result, step) {
  if (result.refused) {
    const figures = Object.fromEntries(Object.entries(result.figures).map(([key, value]) => [key, figure(value)]));
    return el("p", { class: "bad", role: "status" }, t("owner.refused", { why: t(`owner.refused.${result.refused}`, figures) }));
  }
  return el("div", { class: "found", role: "status" },
    el("p", {}, el("strong", {}, t("owner.found")), " ", said(result)),
    result.what === "fill" ? rows(result) : null,
    press("owner.keep", () => step({ step: "keep" })), press("owner.drop", () => step({ step: "drop" })));
}

function said(entry) {
  const change = (before, after, spread) =>
    `${t("owner.before")} ${before} → ${t("owner.after")} ${after}, ${t("owner.within", { spread })}`;
  const { what, before, after, spread, figures } = entry;
  if (what === "bucket") {
    const tap = figures.tap_l_min ? ` · ${t("owner.tap", { flow: amount(figures.tap_l_min, "flow") })}` : "";
    return change(figure(before), figure(after), `${(100 * spread).toFixed(1)} %`) + tap;
  }
  if (what === "draw") return change(amount(before, "flow"), amount(after, "flow"), amount(spread, "flow"));
  if (what === "level") {
    const line = ([scale, offset_m]) => `× ${scale.toFixed(4)} + ${amount(offset_m, "length", 1)}`;
    return change(line(before), line(after), amount(spread, "length", 1));
  }
  const kinks = figures.kinks_m.map((height) => amount(height, "length"));
  const bends = kinks.length ? t("owner.kinks", { heights: kinks.join(", ") }) : t("owner.no_kinks");
  return `${t("owner.rows", { n: after.length, m: figures.measured })}, ${bends}, ${t("owner.within", { spread: amount(Math.max(...spread), "volume") })}`;
}

function rows(result) {
  const head = ["height_column", "volume_before", "volume_now", "spread"].map((key) => el("th", { scope: "col" }, t(`owner.${key}`)));
  const body = result.after.map(([height_m, volume_l], row) => el("tr", {},
    el("th", { scope: "row" }, amount(height_m, "length")), el("td", {}, amount(result.figures.before_l[row], "volume")),
    el("td", {}, amount(volume_l, "volume")), el("td", {}, `± ${amount(result.spread[row], "volume")}`)));
  const frame = el("table", {}, el("thead", {}, el("tr", {}, head)), el("tbody", {}, body));
  return el("div", { class: "scrolls", tabindex: "0", role: "region", "aria-label": t("owner.table") }, frame);
}

function kept(list, step) {
  if (!list.length) return [el("h3", {}, t("owner.kept")), el("p", { class: "soft" }, t("owner.nothing"))];
  const newest = (entry, at) => !list.slice(at + 1).some((later) => later.what === entry.what && later.of === entry.of);
  return [el("h3", {}, t("owner.kept")), el("ul", { class: "plainly" }, list.map((entry, at) => el("li", {},
    el("span", {}, el("strong", {}, name(entry.what, entry.of)), ` ${new Date(1000 * entry.at).toLocaleString(document.documentElement.lang)}: ${said(entry)} (${
      t(entry.in_force ? "owner.in_force" : newest(entry, at) ? "owner.not_in_force" : "owner.undone_by_newer")})`),
    newest(entry, at) ? press("owner.undo", () => step({ step: "undo", what: entry.what, of: entry.of })) : null)))];
}
