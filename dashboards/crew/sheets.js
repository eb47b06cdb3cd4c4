// The sheets behind the buttons: each asks what has to be asked, says what has to be said, and tells the monitor.

import { el, setText } from "../shared/dom.js";
import { t } from "../shared/words.js";
import { alarmDetails, longestQuiet_s } from "./alarms.js";
import * as say from "./say.js";
import { job } from "./sheet.js";
import { WaterLine } from "./waterline.js";

const QUIET_MIN = [5, 15, 30, 60];

export function openAlarms(sheet, acts, state) {
  const speakAgain = async (alarm) => {
    if (await acts.tell("unshelve", t("alarm.speak_again"), { alarm: alarm.alarm, ...subject(alarm) })) sheet.close();
  };
  sheet.open(t("alarm.group"), alarmDetails(state.alarms, state.at, speakAgain));
}

export function openQuiet(sheet, acts, alarm) {
  const choose = (minutes) => async () => {
    const words = say.bareSpan(minutes * 60);
    if (await acts.tell("shelve", words, { alarm: alarm.alarm, minutes, ...subject(alarm) })) sheet.close();
  };
  const choices = QUIET_MIN.filter((minutes) => 60 * minutes <= longestQuiet_s(alarm)).map((minutes) => job(say.bareSpan(minutes * 60), choose(minutes)));
  sheet.open(t("quiet.title"), el("div", { class: "jobs" }, choices), el("p", {}, `${t("quiet.why")} ${t("quiet.never")}`));
}

/** Which pump, signal or node an alarm is about, for the monitor. */
export function subject(alarm) {
  return Object.fromEntries(["pump", "signal", "node"].filter((key) => alarm[key]).map((key) => [key, alarm[key]]));
}

export function openPacking(sheet, acts, state) {
  const packed = state.packing_up;
  const tell = async () => (await acts.tell("packing-up", t(packed ? "act.back" : "act.packing"), { on: !packed })) && sheet.close();
  const steps = ["packing.step_tap", "packing.step_engines", "packing.step_caps", "packing.step_hot"];
  sheet.open(
    t("packing.title"),
    packingWeights(state).map((text) => el("p", { class: "strong" }, text)),
    el("fieldset", { class: "asks" }, el("legend", {}, t("packing.ask")), steps.map(toTick)),
    el("p", {}, t("packing.surge")),
    tonight(state.tonight),
    el("div", { class: "jobs" }, job(t(packed ? "act.back" : "packing.confirm"), tell, { class: "job job-main" })),
  );
}

/** What a cold night asks for, in the owner page's words. */
function tonight(frost) {
  if (!frost || !frost.tonight.length) return null;
  const lowest = `${Math.round(frost.coldest_c)} °C (${Math.round(frost.coldest_c * 1.8 + 32)} °F)`;
  return el("section", {}, el("p", { class: "strong" }, t(`owner.frost.${frost.word}`, { lowest })), el("ul", {}, frost.tonight.map((each) => el("li", {}, t(`owner.frost.${each}`)))));
}

/** What is aboard, what may be towed, and what that means for the tap. */
export function packingWeights({ forecast, rig, packing }) {
  const { volume_l, volume_sd_l } = forecast;
  const limit_l = rig.tow_limit_l;
  const both = (litres, sd_l) => ({ volume: say.volume(litres, sd_l), weight: say.weight(litres) });
  const said = [volume_l === null ? t("packing.unknown") : t("packing.aboard", both(volume_l, volume_sd_l))];
  if (limit_l === null) return said;
  said.push(t("packing.limit", both(limit_l)));
  if (volume_l === null) return said;
  const room_l = limit_l - volume_l;
  if (room_l <= 0) return [...said, t("packing.over", { volume: say.volume(-room_l, volume_sd_l) }), ...usedUp(packing)];
  said.push(t("packing.room", { volume: say.volume(room_l, volume_sd_l) }));
  if (packing.shut_tap_in_s !== null) said.push(t("packing.shut_in", { time: say.bareSpan(Math.max(60, packing.shut_tap_in_s)) }));
  return said;
}

/** How long the pumps in use take, with the tap shut, to bring the water down to what may be towed. */
function usedUp({ lasts_s }) {
  return lasts_s ? [t("packing.used_in", { time: say.wait(lasts_s) })] : [];
}

export function openPlace(sheet, acts) {
  const site = el("input", { type: "text", id: "site", maxlength: 80, autocomplete: "off" });
  const asks = ["place.breaker", "place.rim", "place.leave", "place.outlet", "place.flushed", "place.level", "place.lines"];
  const tell = async () => {
    const named = site.value.trim() ? { site: site.value.trim() } : {};
    if (await acts.tell("new-place", t("act.new_place"), named)) sheet.close();
  };
  sheet.open(
    t("place.title"),
    el("p", { class: "field" }, el("label", { for: "site" }, t("place.site")), site),
    el("fieldset", { class: "asks" }, el("legend", {}, t("place.ask")), asks.map(toTick)),
    el("div", { class: "jobs" }, job(t("place.confirm"), tell, { class: "job job-main" })),
  );
}

function toTick(key) {
  return el("label", { class: "ask" }, el("input", { type: "checkbox" }), el("span", {}, t(key)));
}

export function openStandsHere(sheet, acts, state) {
  const confirm = el("span", {});
  const line = new WaterLine(state.rig, state.forecast.volume_l, (volume_l) => setText(confirm, t("stands.confirm", { volume: say.volume(volume_l) })));
  const tell = async () => {
    const taken = await acts.tell("it-stands-here", t("act.stands_here"), { volume_l: Math.round(line.volume_l * 10) / 10 });
    if (taken) sheet.close();
  };
  sheet.open(
    t("stands.title"),
    el("p", {}, `${t("stands.how")} ${t("stands.never_enter")}`),
    line.node,
    el("div", { class: "jobs" }, el("button", { class: "job job-main", type: "button", onclick: tell }, confirm)),
  );
}

/** Asks which pump only where there is more than one. */
export function openWhichPump(sheet, state, tell) {
  if (state.pumps.length < 2) return tell(state.pumps.length ? state.pumps[0].name : null);
  const choose = (name) => () => {
    sheet.close();
    tell(name);
  };
  sheet.open(t("act.which_pump"), el("div", { class: "jobs" }, state.pumps.map((pump) => job(pump.name, choose(pump.name)))));
  return null;
}

/** One touch says so, another that it is over. */
function telling(sheet, acts, act, key) {
  const on = !key.endsWith("_end");
  return job(t(key), async () => (await acts.tell(act, t(key), { on })) && sheet.close());
}

function alarmsKey({ alarms }) {
  return alarms.length > 1 ? t("alarm.more", { n: alarms.length }) : t("alarm.the_one");
}

/** Everything else, and what has to be said once. `page` offers the switches. */
export function openMore(sheet, page) {
  const { acts, sound, awake } = page;
  const test = async () => {
    await sound.allow();
    sound.test();
    openMore(sheet, page);
  };
  sheet.open(
    t("more.title"),
    el("div", { class: "jobs" },
      page.jobs.map(([key, run]) => job(t(key), run)),
      job(t("act.stands_here"), () => openStandsHere(sheet, acts, page.state)),
      telling(sheet, acts, "filling-past-meter", page.state.supply.filling_past_meter ? "act.filling_past_end" : "act.filling_past"),
      telling(sheet, acts, "dumping", page.state.supply.dumping ? "act.dumping_end" : "act.dumping"),
      job(t("more.explain"), page.explain),
      page.state.alarms.length ? job(alarmsKey(page.state), () => openAlarms(sheet, acts, page.state)) : null,
      page.troubles ? job(t("trouble.title"), page.troubles) : null,
      job(t("more.sound_test"), test, { class: "job job-sound" }),
      job(t(page.theme() === "night" ? "more.sun" : "more.night"), () => { page.toggleTheme(); openMore(sheet, page); }),
      job(t("more.language"), async () => { await page.toggleLanguage(); openMore(sheet, page); }, { lang: page.otherLanguage() })),
    page.ways.build(),
    el("p", { class: "strong" }, t("more.driver")),
    el("p", {}, t("more.makers")),
    el("p", {}, `${t(sound.allowed() ? "more.sound_is_on" : "more.sound_is_off")} ${t(`more.awake_${awake.how()}`)}`),
  );
}
