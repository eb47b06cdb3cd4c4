// Checklist, signals, nodes, rejects: tables of what the monitor says.

import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { amount, figure, span } from "./amounts.js";

function table(title, heads, rows) {
  const head = el("tr", {}, heads.map((each) => el("th", { scope: "col" }, each)));
  const frame = el("table", {}, el("thead", {}, head), el("tbody", {}, rows));
  return el("div", { class: "scrolls", tabindex: "0", role: "region", "aria-label": title }, frame);
}

export function checklist(items) {
  const done = items.filter((item) => item.done).length;
  return [
    el("h2", {}, t("owner.checklist")),
    el("p", { class: "soft" }, t("owner.checklist_done", { done, all: items.length })),
    el("ul", { class: "steps" }, items.map((item) =>
      el("li", { class: item.done ? "done" : "open" },
        el("span", { class: "mark", "aria-hidden": "true" }, item.done ? "✓" : "○"),
        el("span", {}, t(`owner.check.${item.item}`, { of: item.of })),
        el("span", { class: "soft" }, t(item.done ? "owner.done" : "owner.open"))))),
  ];
}

function raw(signal) {
  if (signal.value === null) return "–";
  if (typeof signal.value === "boolean") return t(signal.value ? "owner.yes" : "owner.no");
  return `${figure(signal.value)} ${signal.unit}`;
}

function means(signal) {
  if (!signal.means) return "";
  if ("flow_l_min" in signal.means) return amount(signal.means.flow_l_min, "flow");
  return `${amount(signal.means.height_m, "length")} · ${amount(signal.means.volume_l, "volume")}`;
}

function why(signal) {
  const said = [signal.why && t(`owner.why.${signal.why}`), signal.stale && t("owner.stale")].filter(Boolean);
  return said.length ? `: ${said.join("; ")}` : "";
}

export function signals(list) {
  const heads = ["signal", "raw", "means", "age", "every", "noise", "step", "verdict"].map((key) => t(`owner.${key}`));
  const rows = list.map((signal) => el("tr", {},
    el("th", { scope: "row" }, signal.name, signal.of ? el("span", { class: "soft" }, ` ${signal.of}`) : null),
    el("td", {}, raw(signal)), el("td", {}, means(signal)), el("td", {}, span(signal.age_s)),
    el("td", {}, span(signal.every_s)), el("td", {}, figure(signal.noise)), el("td", {}, figure(signal.step)),
    el("td", { class: `verdict ${signal.quality}` },
      el("strong", {}, t(`owner.quality.${signal.quality}`)), why(signal))));
  const title = t("owner.signals");
  return [el("h2", {}, title), table(title, heads, rows), el("p", { class: "soft" }, t("owner.noise_help"))];
}

function own(said) {
  return said ? `${figure(said.value)} ${said.unit}` : "–";
}

export function nodes(list) {
  const keys = ["node", "state", "age", "packs", "lost", "uptime", "reboots", "will", "radio", "battery"];
  const rows = list.map((node) => el("tr", {},
    el("th", { scope: "row" }, node.name),
    el("td", { class: node.state === "up" ? "" : "bad" },
      t(`owner.node.${node.state}`), node.clock_fault ? ` · ${t("owner.clock_fault")}` : ""),
    el("td", {}, span(node.age_s)), el("td", {}, String(node.packs)),
    el("td", {}, node.counts ? String(node.lost_packs) : "?"), el("td", {}, span(node.uptime_s)),
    el("td", {}, String(node.reboots)), el("td", {}, t(node.will ? "owner.yes" : "owner.no")),
    el("td", {}, own(node.rssi)), el("td", {}, own(node.battery))));
  const title = t("owner.nodes");
  return [el("h2", {}, title), table(title, keys.map((key) => t(`owner.${key}`)), rows)];
}

export function feeds(list) {
  const bad = (list || []).filter((feed) => !feed.ok);
  return bad.map((feed) => el("p", { class: "bad" }, `${feed.name}: ${feed.why} ${feed.do}`));
}

/** What was let go because more came than could be decided on, or stored. */
export function dropped({ dropped: arrivals, journal }) {
  return el("p", { class: arrivals || journal.dropped ? "bad" : "soft" }, t("owner.dropped", { arrivals, rows: journal.dropped }));
}

/** What of the program itself has failed within the last minute. */
export function faults(parts) {
  return (parts || []).map((part) => el("p", { class: "bad", role: "alert" }, t("owner.fault", { part })));
}

function measured(value, unit) {
  return value === null ? t("owner.computer.unknown") : `${figure(value)} ${unit}`.trim();
}

function truth(value) {
  return value === null ? t("owner.computer.unknown") : t(value ? "owner.yes" : "owner.no");
}

export function computer(said) {
  const rows = [
    ["disk", measured(said.disk_free_mb, "MB")], ["heat", measured(said.cpu_cel, "°C")],
    ["under", truth(said.under_voltage)], ["under_before", truth(said.under_voltage_before)],
    ["clock", truth(said.clock_set)], ["load", measured(said.load, "")],
    ["uptime", said.uptime_s === null ? t("owner.computer.unknown") : span(said.uptime_s)],
  ].map(([key, value]) => el("tr", {}, el("th", { scope: "row" }, t(`owner.computer.${key}`)), el("td", {}, value)));
  const title = t("owner.computer");
  return [el("h2", {}, title), table(title, ["what", "now"].map((key) => t(`owner.computer.${key}`)), rows)];
}

export function rejects(said, unknown) {
  const names = Object.entries(unknown);
  const rows = said.latest.map((each) => el("tr", {},
    el("th", { scope: "row" }, each.kind), el("td", {}, each.feed), el("td", {}, each.why),
    el("td", { class: "raw" }, el("code", {}, each.raw))));
  const title = t("owner.rejects");
  return [
    el("h2", {}, title),
    el("p", { class: "soft" }, said.total ? t("owner.rejects_total", { n: said.total }) : t("owner.rejects_none")),
    said.total ? table(title, ["kind", "from", "reason", "text"].map((key) => t(`owner.${key}`)), rows) : null,
    el("h3", {}, t("owner.unknown")),
    names.length
      ? el("ul", { class: "names" }, names.map(([name, count]) => el("li", {}, el("code", {}, name), ` × ${count}`)))
      : el("p", { class: "soft" }, t("owner.unknown_none")),
  ];
}

export function gains(list) {
  return [el("h2", {}, t("owner.gains")), el("ul", { class: "plainly" }, list.map((gain) => el("li", {}, gain)))];
}
