// Figures of the books: counted, not guessed, so as fine as they were counted; in the reader's units and language.

import { currentLanguage, t } from "../shared/words.js";

const L_PER_GAL = 3.785411784; // NIST SP 811 (2008), appendix B

let system = "us";

export function useUnits(name) {
  system = name === "metric" ? "metric" : "us";
}

export function units() {
  return system;
}

export function unit() {
  return system === "us" ? "gal" : "L";
}

/** A volume's figure without its unit, for columns whose heading has it. */
export function bare(litres, digits = 0) {
  const amount = (litres || 0) / (system === "us" ? L_PER_GAL : 1);
  return new Intl.NumberFormat(currentLanguage(), { minimumFractionDigits: digits, maximumFractionDigits: digits }).format(amount + 0);
}

export function volume(litres, digits = 0) {
  return `${bare(litres, digits)} ${unit()}`;
}

export function flow(l_min) {
  return `${bare(l_min, 1)} ${system === "us" ? "gpm" : "L/min"}`;
}

export function hours(seconds) {
  const minutes = Math.round(seconds / 60);
  return t("books.h_min", { h: Math.floor(minutes / 60), m: String(minutes % 60).padStart(2, "0") });
}

export function span(seconds) {
  if (seconds < 90) return t("books.s", { n: Math.round(seconds) });
  if (seconds < 5400) return t("books.min", { n: Math.round(seconds / 60) });
  return hours(seconds);
}

/** Day and time where the rig stands. */
export function moment(unix_s, timezone) {
  return shown(unix_s, timezone, { year: "numeric", month: "short", day: "numeric", hour: "numeric", minute: "2-digit" });
}

/** The same within a month that is named already. */
export function shortMoment(unix_s, timezone) {
  return shown(unix_s, timezone, { month: "short", day: "numeric", hour: "numeric", minute: "2-digit" });
}

export function clock(unix_s, timezone) {
  return shown(unix_s, timezone, { hour: "numeric", minute: "2-digit" });
}

function shown(unix_s, timezone, how) {
  const when = new Date(1000 * unix_s);
  const clocked = { ...how, hour12: system === "us" };
  try {
    return new Intl.DateTimeFormat(currentLanguage(), { ...clocked, timeZone: timezone || undefined }).format(when);
  } catch {
    return new Intl.DateTimeFormat(currentLanguage(), clocked).format(when);
  }
}

/** "2026-11" as people say it. */
export function monthName(month) {
  const [year, number] = month.split("-").map(Number);
  return new Intl.DateTimeFormat(currentLanguage(), { year: "numeric", month: "long", timeZone: "UTC" }).format(Date.UTC(year, number - 1, 15));
}

/** "2026-11-05" as "Thu 5". */
export function dayName(day) {
  return new Intl.DateTimeFormat(currentLanguage(), { weekday: "short", day: "numeric", timeZone: "UTC" }).format(new Date(`${day}T12:00:00Z`));
}
