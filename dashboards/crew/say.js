// Numbers as people say them: never finer than they are known, in the reader's units and language.

import { currentLanguage, t } from "../shared/words.js";

const L_PER_GAL = 3.785411784; // NIST SP 811 (2008), appendix B
const KG_PER_LB = 0.45359237;
const KG_PER_L = 0.99902; // water at 60 °F (IAPWS-95): 8.34 lb/gal
const STEPS = [1, 2, 5, 10, 20, 50, 100, 200, 500];
const HOUR_S = 3600;

let units = "us";

export function setUnits(system) {
  units = system === "metric" ? "metric" : "us";
}

function locale() {
  const place = units === "us" ? "US" : currentLanguage() === "es" ? "ES" : "GB";
  return `${currentLanguage()}-${place}`;
}

function number(value, decimals = 0) {
  const options = { minimumFractionDigits: decimals, maximumFractionDigits: decimals, useGrouping: false };
  return new Intl.NumberFormat(locale(), options).format(value + 0);
}

function stepFor(spread) {
  return STEPS.find((step) => step >= spread) || STEPS[STEPS.length - 1];
}

export function shownVolume(litres) {
  return units === "us" ? litres / L_PER_GAL : litres;
}

export function litresOf(shown) {
  return units === "us" ? shown * L_PER_GAL : shown;
}

/** A volume rounded to what its standard deviation allows: "112 gal", "420 L". Null is "?". */
export function volume(litres, sd_l, approximate = false) {
  const unit = units === "us" ? "gal" : "L";
  if (litres === null || litres === undefined) return `? ${unit}`;
  const floor = units === "us" ? 1 : 5;
  const step = sd_l === null || sd_l === undefined ? floor : Math.max(stepFor(shownVolume(sd_l)), floor);
  return `${approximate ? "≈ " : ""}${number(Math.round(shownVolume(litres) / step) * step)} ${unit}`;
}

/** A flow: "6.0 gpm", "23 L/min"; half as fine when it is only inferred. */
export function flow(l_min, approximate = false, withUnit = true) {
  const unit = units === "us" ? "gpm" : "L/min";
  if (l_min === null || l_min === undefined) return `? ${unit}`;
  const step = units === "us" ? (approximate ? 0.5 : 0.1) : approximate ? 2 : 1;
  const shown = Math.round(shownVolume(l_min) / step) * step;
  return `${approximate ? "≈ " : ""}${number(shown, units === "us" ? 1 : 0)}${withUnit ? ` ${unit}` : ""}`;
}

/** What so much water weighs, to the nearest ten. */
export function weight(litres) {
  const kg = litres * KG_PER_L;
  const unit = units === "us" ? "lb" : "kg";
  return `${number(Math.round((units === "us" ? kg / KG_PER_LB : kg) / 10) * 10)} ${unit}`;
}

/** An age or a short wait as it counts: "4 s", "3 min", "2 h". */
export function age(seconds) {
  if (seconds < 90) return t("time.s", { n: number(Math.floor(seconds)) });
  if (seconds < 90 * 60) return t("time.min", { n: number(Math.floor(seconds / 60)) });
  return t("time.h", { n: number(Math.floor(seconds / HOUR_S)) });
}

/** A span that is only known roughly: "under 2 min", "about 14 min", "about 1 h 20 min". */
export function span(seconds) {
  if (seconds < 120) return t("time.under_two");
  return t("time.about", { time: bareSpan(seconds) });
}

/** How long to wait, in whole minutes and never too short: "1 min", "12 min". */
export function wait(seconds) {
  const minutes = Math.max(1, Math.ceil(seconds / 60));
  return minutes < 20 ? t("time.min", { n: number(minutes) }) : bareSpan(seconds + 150);
}

export function bareSpan(seconds) {
  const minutes = Math.round(seconds / 60);
  if (minutes < 20) return t("time.min", { n: number(minutes) });
  const rounded = Math.round(minutes / 5) * 5;
  if (rounded < 60) return t("time.min", { n: number(rounded) });
  return hours(Math.round(minutes / 10) * 10);
}

function hours(minutes) {
  const h = Math.floor(minutes / 60);
  const m = minutes % 60;
  return m === 0 ? t("time.h", { n: number(h) }) : t("time.h_min", { h: number(h), m: number(m) });
}

/** Running hours, which are counted and not guessed: "2 h 10 min". */
export function counted(seconds) {
  const minutes = Math.floor(seconds / 60);
  return minutes < 60 ? t("time.min", { n: number(minutes) }) : hours(minutes);
}

function minuteStep(dry) {
  const spread_s = dry.p95 === null ? 2 * (dry.p50 - dry.p05) : dry.p95 - dry.p05;
  const half_min = spread_s / 120;
  return half_min <= 5 || dry.p50 < 600 ? 1 : half_min <= 15 ? 5 : 10;
}

/**
 * The time to dry in words: {kind, minutes, early} with kind
 * "dry" | "under" (two minutes) | "about" | "over" (an hour) | "none" (nothing can be said).
 * `early` is the early bound in whole minutes, 0 for "now", null where it adds nothing.
 */
export function timeToDry(dry) {
  if (!dry) return { kind: "none", minutes: null, early: null };
  if (dry.p50 === null) return { kind: "over", minutes: null, early: earlyBound(dry.p05, 60, 5) };
  if (dry.p50 <= 0) return { kind: "dry", minutes: 0, early: null };
  if (dry.p50 < 120) return { kind: "under", minutes: 2, early: null }; // which bounds it already
  const step = minuteStep(dry);
  const minutes = Math.max(Math.round(dry.p50 / 60 / step) * step, 2);
  if (minutes >= 60) return { kind: "over", minutes: null, early: earlyBound(dry.p05, 60, step) };
  return { kind: "about", minutes, early: earlyBound(dry.p05, minutes, step) };
}

function earlyBound(p05, minutes, step) {
  if (p05 === null || p05 === undefined) return null;
  const fine = p05 < 600 ? 1 : step;
  const early = Math.floor(p05 / 60 / fine) * fine;
  return early < minutes ? early : null;
}

export function whole(value) {
  return number(Math.round(value));
}

/** Names joined as people do: "Rides and Stalls". */
export function names(list) {
  return new Intl.ListFormat(currentLanguage(), { type: "conjunction" }).format(list);
}

/** The time of day where the rig stands. */
export function clock(wall_s, timezone) {
  const options = { hour: "numeric", minute: "2-digit", hour12: units === "us" };
  try {
    return new Intl.DateTimeFormat(locale(), { ...options, timeZone: timezone }).format(new Date(wall_s * 1000));
  } catch {
    return new Intl.DateTimeFormat(locale(), options).format(new Date(wall_s * 1000));
  }
}
