// The clock of the rig's place, wherever the browser stands.

const formats = new Map();

function formatOf(timezone) {
  if (!formats.has(timezone)) {
    const part = "numeric";
    formats.set(timezone, new Intl.DateTimeFormat("en-US", { timeZone: timezone || undefined, hourCycle: "h23", year: part, month: part, day: part, hour: part, minute: part, second: part }));
  }
  return formats.get(timezone);
}

/** How far the clocks of a zone are ahead of UTC at a time, in seconds. */
export function zoneShift_s(at, timezone) {
  const whole = Math.floor(at);
  const said = Object.fromEntries(formatOf(timezone).formatToParts(whole * 1000).map(({ type, value }) => [type, Number(value)]));
  return Date.UTC(said.year, said.month - 1, said.day, said.hour, said.minute, said.second) / 1000 - whole;
}

/** The times in a window at which those clocks show a whole multiple of a step, the day the clocks change included. */
export function wholeSteps({ since, until }, step_s, shift_s) {
  const found = [];
  for (let local = Math.ceil((since + shift_s(since)) / step_s) * step_s; ; local += step_s) {
    const about = local - shift_s(since);
    const at = local - shift_s(about);
    if (at >= until) return found;
    if (at >= since && at > (found.at(-1) ?? -Infinity)) found.push(at);
  }
}
