// Times as people read them.

import { currentLanguage, t } from "../shared/words.js";

/** A span in its largest fitting unit. */
export function span(seconds) {
  if (seconds < 90) return t("rate.s", { n: Math.round(seconds) });
  if (seconds < 5400) return t("rate.min", { n: Math.round(seconds / 60) });
  return t("rate.h", { n: (seconds / 3600).toLocaleString(currentLanguage(), { maximumFractionDigits: 1 }) });
}

/** Day and time in the rig's time zone. */
export function moment(unix_s, timezone) {
  const how = { month: "short", day: "numeric", hour: "2-digit", minute: "2-digit", second: "2-digit" };
  return new Date(1000 * unix_s).toLocaleString(currentLanguage(), { ...how, timeZone: timezone || undefined });
}

export function number(value, digits = 1) {
  return value.toLocaleString(currentLanguage(), { maximumFractionDigits: digits });
}
