// Alarms: the first one large, with what to do; the rest named beside it; all of them in a sheet.

import { el, redrawOn, setAttr, setText, svg } from "../shared/dom.js";
import { alarmWords, t } from "../shared/words.js";
import * as say from "./say.js";

const RANK = { critical: 0, high: 1, medium: 2, low: 3 };
const OPEN = { unacknowledged: 0, "returned to normal unacknowledged": 1, acknowledged: 2 };
const STATE_WORDS = {
  unacknowledged: "alarm.state_unacknowledged",
  acknowledged: "alarm.state_acknowledged",
  "returned to normal unacknowledged": "alarm.state_returned",
  shelved: "alarm.state_shelved",
  "suppressed by design": "alarm.state_suppressed",
  "out of service": "alarm.state_out",
};
// a shape for each priority, with the colour or without it
const SHAPES = {
  critical: "M29,4 H71 L96,29 V71 L71,96 H29 L4,71 V29 Z",
  high: "M50,6 L98,92 H2 Z",
  medium: "M50,4 L96,50 L50,96 L4,50 Z",
  low: "M50,6 A44,44 0 1 0 50.1,6 Z",
};

/** Those that speak, the most urgent first: critical before high; among equals not yet seen first, then the newest. */
export function speaking(alarms) {
  const order = (a) => [RANK[a.priority] ?? 3, OPEN[a.state], -a.since];
  return alarms.filter((a) => a.state in OPEN).sort((one, other) => compare(order(one), order(other)));
}

/** The one to show large: a standing critical one, else the first not yet seen, else the first. */
export function foremost(alarms) {
  const list = speaking(alarms);
  return list.find((a) => a.priority === "critical" && a.state !== "returned to normal unacknowledged") || list.find(unseen) || list[0] || null;
}

export function unseen(alarm) {
  return alarm.state !== "acknowledged";
}

function compare(one, other) {
  const i = one.findIndex((value, k) => value !== other[k]);
  return i < 0 ? 0 : one[i] - other[i];
}

export function alarmShape(priority) {
  return svg("svg", { viewBox: "0 0 100 100", class: "alarm-shape", "data-priority": priority, "aria-hidden": "true" },
    svg("path", { d: SHAPES[priority] || SHAPES.low, class: "alarm-body" }),
    svg("path", { d: "M50,32 V60 M50,72 V77", class: "alarm-stroke" }));
}

export function alarmTitle(alarm) {
  const { title } = alarmWords(alarm.alarm);
  return alarm.pump ? t("alarm.at", { what: alarm.pump, title }) : title;
}

export class Alarms {
  constructor(onOpen) {
    this.onOpen = onOpen;
    this.node = el("section", { class: "alarm" });
    this.spoken = el("p", { class: "unseen-text", role: "alert" });
    this.said = "";
  }

  show(state) {
    const first = foremost(state.alarms);
    const rest = speaking(state.alarms).filter((a) => a !== first);
    this.node.hidden = first === null;
    setAttr(this.node, "aria-label", t("alarm.group"));
    setAttr(this.node, "data-priority", first && first.priority);
    setAttr(this.node, "data-seen", first && String(first.state !== "unacknowledged"));
    redrawOn(this.node, [first && withoutTimes(first), rest.map(withoutTimes), t("alarm.do")], () => (first ? this.drawn(first, rest) : []));
    this.speak(first);
  }

  drawn(first, rest) {
    const returned = first.state === "returned to normal unacknowledged";
    const count = rest.length + 1;
    return [
      alarmShape(first.priority),
      el("div", { class: "alarm-words" },
        el("h2", { class: "alarm-title" }, alarmTitle(first)),
        el("p", { class: "alarm-do" }, returned ? t("alarm.returned") : alarmWords(first.alarm).do),
        rest.length ? el("ul", { class: "alarm-rest" }, rest.map(restItem)) : null),
      el("button", { class: "alarm-open", type: "button", onclick: this.onOpen }, count > 1 ? t("alarm.more", { n: count }) : t("alarm.one")),
    ];
  }

  /** Read aloud by a screen reader once, when the foremost alarm changes. */
  speak(first) {
    const said = first && first.state === "unacknowledged" ? `${t(`alarm.${first.priority}`)}: ${alarmTitle(first)}. ${alarmWords(first.alarm).do}` : "";
    if (said !== this.said) setText(this.spoken, said);
    this.said = said;
  }
}

function withoutTimes({ time_s, since, ...rest }) {
  return rest;
}

function restItem(alarm) {
  return el("li", {}, alarmShape(alarm.priority), `${alarmTitle(alarm)}${alarm.state === "acknowledged" ? ` (${t("alarm.heard")})` : ""}`);
}

/** Every alarm that is not normal, with why, what follows and what to do: for the sheet. */
export function alarmDetails(alarms, now) {
  if (!alarms.length) return [el("p", {}, t("alarm.none"))];
  const rank = (a) => [RANK[a.priority] ?? 3, OPEN[a.state] ?? 3, -a.since];
  return [...alarms].sort((one, other) => compare(rank(one), rank(other))).map((alarm) => detail(alarm, now));
}

function detail(alarm, now) {
  const words = alarmWords(alarm.alarm);
  const facts = [t(`alarm.${alarm.priority}`), t(STATE_WORDS[alarm.state] || "alarm.state_unacknowledged"), t("alarm.since", { time: say.age(Math.max(0, now - alarm.since)) })];
  if (alarm.time_s !== null && alarm.time_s !== undefined) facts.push(t("alarm.left", { time: say.span(alarm.time_s) }));
  const part = (key, text) => (text ? [el("dt", {}, t(key)), el("dd", {}, text)] : []);
  const followers = alarm.followers.map((name) => alarmWords(name).title);
  return el("article", { class: "detail", "data-priority": alarm.priority },
    el("h3", {}, alarmShape(alarm.priority), alarmTitle(alarm)),
    el("p", { class: "detail-facts" }, facts.join(" · ")),
    el("dl", {}, part("alarm.do", words.do), part("alarm.cause", words.cause), part("alarm.consequence", words.consequence)),
    followers.length ? el("p", {}, t("alarm.followers", { names: say.names(followers) })) : null);
}
