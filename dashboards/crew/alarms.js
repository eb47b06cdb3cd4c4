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
const DANGLING = /^.{1,22}\?\s*$/; // a short question whose answer found no room
const LONG_NAME = 20; // letters; such a name is set smaller and on several lines, for it must not be cut
// a shape for each priority, with the colour or without it
const SHAPES = {
  critical: "M29,4 H71 L96,29 V71 L71,96 H29 L4,71 V29 Z",
  high: "M50,6 L98,92 H2 Z",
  medium: "M50,4 L96,50 L50,96 L4,50 Z",
  low: "M50,6 A44,44 0 1 0 50.1,6 Z",
};

/** Those that speak, the most urgent first; among equals not yet seen first, then the oldest, so that nothing jumps. */
export function speaking(alarms) {
  return alarms.filter((a) => a.state in OPEN).sort(byUrgency);
}

/** The one to show large: a standing critical one, else the first not yet seen, else the first. */
export function foremost(alarms) {
  const list = speaking(alarms);
  return list.find((a) => a.priority === "critical" && !isOver(a)) || list.find(unseen) || list[0] || null;
}

/** Over, but nobody has seen it yet. */
export function isOver(alarm) {
  return alarm.state === "returned to normal unacknowledged";
}

/** Whether an alarm takes the room and the colour: it is new and asks for something, or critical and still there. */
export function isLoud(alarm) {
  return (alarm.state === "unacknowledged" && alarm.priority !== "low") || (alarm.priority === "critical" && !isOver(alarm));
}

export function unseen(alarm) {
  return alarm.state !== "acknowledged";
}

function byUrgency(one, other) {
  const rank = (a) => [RANK[a.priority] ?? 3, OPEN[a.state] ?? 3, a.since];
  const [mine, its] = [rank(one), rank(other)];
  const i = mine.findIndex((value, k) => value !== its[k]);
  return i < 0 ? 0 : mine[i] - its[i];
}

/** How long an alarm may be made quiet, in seconds; never a critical one. */
export function longestQuiet_s(alarm) {
  if (alarm.priority === "critical") return 0;
  return alarm.shelve_max_s === undefined || alarm.shelve_max_s === null ? 3600 : alarm.shelve_max_s;
}

export function alarmShape(priority) {
  return svg("svg", { viewBox: "0 0 100 100", class: "alarm-shape", "data-priority": priority, "aria-hidden": "true" },
    svg("path", { d: SHAPES[priority] || SHAPES.low, class: "alarm-body" }),
    svg("path", { d: "M50,32 V60 M50,72 V77", class: "alarm-stroke" }));
}

export function alarmTitle(alarm) {
  const { title } = alarmWords(alarm.alarm, alarm.variant);
  return alarm.pump ? t("alarm.at", { what: alarm.pump, title }) : title;
}

export class Alarms {
  constructor(onOpen) {
    this.onOpen = onOpen;
    this.node = el("section", { class: "alarm" });
    this.spoken = el("p", { class: "unseen-text", role: "alert" });
    this.said = "";
    new ResizeObserver(() => fitSteps(this.node)).observe(this.node);
  }

  show(state) {
    const first = foremost(state.alarms);
    const rest = speaking(state.alarms).filter((a) => a !== first);
    this.node.hidden = first === null;
    setAttr(this.node, "aria-label", t("alarm.group"));
    setAttr(this.node, "data-priority", first && first.priority);
    setAttr(this.node, "data-loud", first && String(isLoud(first)));
    redrawOn(this.node, [first && shownOf(first), rest.map(shownOf), t("alarm.do")], () => (first ? this.drawn(first, rest) : []));
    fitSteps(this.node);
    this.speak(first);
  }

  drawn(first, rest) {
    const count = rest.length + 1;
    return [
      el("h2", { class: "alarm-title" }, alarmWords(first.alarm, first.variant).title),
      el("div", { class: "alarm-words" },
        alarmShape(first.priority),
        first.pump ? el("p", { class: "alarm-who", "data-long": String(first.pump.length > LONG_NAME) }, first.pump) : null,
        el("div", { class: "alarm-text" },
          el("p", { class: "alarm-do" }, stepsOf(first).map((step) => el("span", {}, `${step} `))),
          rest.length ? el("ul", { class: "alarm-rest" }, rest.map(restItem)) : null),
        el("button", { class: "alarm-open", type: "button", onclick: this.onOpen }, count > 1 ? t("alarm.more", { n: count }) : t("alarm.one"))),
    ];
  }

  /** Read aloud by a screen reader once, when the foremost alarm changes. */
  speak(first) {
    const aloud = first && first.state === "unacknowledged";
    const said = aloud ? `${t(`alarm.${first.priority}`)}: ${alarmTitle(first)}. ${stepsOf(first).join(" ")}` : "";
    if (said !== this.said) setText(this.spoken, said);
    this.said = said;
  }
}

function stepsOf(alarm) {
  if (isOver(alarm)) return [t("alarm.returned")];
  return alarmWords(alarm.alarm, alarm.variant).steps;
}

/** A long title stands closer; of the steps only whole ones are shown, those that find no room stand in the sheet. */
function fitSteps(node) {
  const [title, box] = [".alarm-title", ".alarm-do"].map((name) => node.querySelector(name));
  if (!box || !node.clientWidth) return;
  const wraps = () => title.clientHeight > 1.5 * parseFloat(getComputedStyle(title).fontSize);
  title.dataset.tight = node.dataset.wrapped = "false";
  if (wraps()) title.dataset.tight = "true";
  if (wraps()) node.dataset.wrapped = "true";
  if (wraps()) title.dataset.tight = "false";
  const steps = [...box.children];
  for (const step of steps) step.hidden = false;
  box.dataset.long = "false";
  for (const step of steps.slice(1).reverse()) {
    if (box.scrollHeight <= box.clientHeight + 2) break;
    step.hidden = true;
  }
  if (box.scrollHeight > box.clientHeight + 2) box.dataset.long = "true";
  const last = steps.filter((step) => !step.hidden).pop();
  const cut = steps.some((step) => step.hidden);
  if (cut && DANGLING.test(last.textContent)) last.hidden = true;
}

function shownOf({ alarm, priority, state, pump, variant }) {
  return [alarm, priority, state, pump, variant, alarmWords(alarm).title];
}

function restItem(alarm) {
  const seen = alarm.state === "acknowledged" ? ` (${t("alarm.heard")})` : "";
  return el("li", {}, alarmShape(alarm.priority), `${alarmTitle(alarm)}${seen}`);
}

/** Every alarm that is not normal, with why, what follows and what to do; `speakAgain(alarm)` ends a shelving. */
export function alarmDetails(alarms, now, speakAgain) {
  if (!alarms.length) return [el("p", {}, t("alarm.none"))];
  return [...alarms].sort(byUrgency).map((alarm) => detail(alarm, now, speakAgain));
}

function detail(alarm, now, speakAgain) {
  const words = alarmWords(alarm.alarm, alarm.variant);
  const part = (key, texts) => (texts.length ? [el("dt", {}, t(key)), texts.map((text) => el("dd", {}, text))] : []);
  const followers = (alarm.followers || []).map((name) => alarmWords(name).title);
  return el("article", { class: "detail", "data-priority": alarm.priority },
    el("h3", {}, alarmShape(alarm.priority), alarmTitle(alarm)),
    el("p", { class: "detail-facts" }, facts(alarm, now)),
    el("dl", {}, part("alarm.do", words.steps), part("alarm.caution", words.cautions), part("alarm.cause", [words.cause].filter(Boolean)),
      part("alarm.consequence", [words.consequence].filter(Boolean))),
    followers.length ? el("p", {}, t("alarm.followers", { names: say.names(followers) })) : null,
    alarm.state === "shelved" ? el("button", { class: "job", type: "button", onclick: () => speakAgain(alarm) }, t("alarm.speak_again")) : null);
}

function facts(alarm, now) {
  const said = [t(`alarm.${alarm.priority}`), t(STATE_WORDS[alarm.state] || "alarm.state_unacknowledged")];
  const about = alarm.signal || alarm.node;
  if (about) said.push(about);
  said.push(t("alarm.since", { time: say.age(Math.max(0, now - alarm.since)) }));
  if (alarm.time_s !== null && alarm.time_s !== undefined) said.push(t("alarm.left", { time: say.span(alarm.time_s) }));
  return said.join(" · ");
}
