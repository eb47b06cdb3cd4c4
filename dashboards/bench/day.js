// What has been heard of the day: the truth and the belief by their instants, faults and alarms as spans of time.

const EVERY_MS = 500;
const KEPT_S = 3 * 3600 + 60;

async function fetched(url) {
  const answer = await fetch(url, { cache: "no-store", signal: AbortSignal.timeout(4000) });
  if (!answer.ok) throw new Error(`${url} answered ${answer.status}`);
  return answer.json();
}

/** Asks again and again; `onHeard()` after every answer, `onSilence()` when none came. */
export class Day {
  constructor(onHeard, onSilence) {
    this.onHeard = onHeard;
    this.onSilence = onSilence;
    this.forget();
  }

  forget() {
    this.truth = new Map();
    this.belief = new Map();
    this.happened = [];
    this.alarms = [];
    this.about = null;
  }

  async start() {
    await this.ask();
    setTimeout(() => this.start(), EVERY_MS);
  }

  async ask() {
    try {
      const [seen, state] = await Promise.all([fetched(`/api/bench?since=${this.heardTo()}`), fetched("/api/state")]);
      this.take(seen, state);
      this.onHeard();
    } catch {
      this.onSilence();
    }
  }

  /** Up to here both are known; what came later is asked for again. */
  heardTo() {
    const last = (map) => [...map.keys()].pop() || 0;
    return Math.max(Math.min(last(this.truth), last(this.belief)), 0);
  }

  take(seen, state) {
    if (this.about && this.about.began_at !== seen.day.began_at) return this.beginAgain();
    this.about = seen.day;
    this.now = seen.now;
    this.state = state;
    for (const [at, volume_l, inflow_l_min, lost_l_min, dry_s, draws] of seen.truth) {
      this.truth.set(at, { at, volume_l, inflow_l_min, lost_l_min, dry_s, draws });
    }
    for (const [at, volume_l, sd_l, inflow_l_min, early_s, dry_s, late_s, draws] of seen.belief) {
      this.belief.set(at, { at, volume_l, sd_l, inflow_l_min, early_s, dry_s, late_s, draws });
    }
    this.happened = merged(this.happened, seen.happened);
    this.alarms = merged(this.alarms, seen.alarms);
    this.dropOld();
  }

  /** Another day has begun under the same address: nothing of the old one belongs to it. */
  beginAgain() {
    this.forget();
    return this.ask();
  }

  dropOld() {
    for (const map of [this.truth, this.belief]) {
      for (const at of map.keys()) if (at < this.now.truth.at - KEPT_S) map.delete(at);
    }
  }

  /** [{name, from, to}, …]; `to` is null while it lasts. */
  faultSpans() {
    const lasting = this.happened.filter((each) => each.on !== null);
    return spans(lasting.map((each) => ({ at: each.at, name: each.what, on: each.on })));
  }

  alarmSpans() {
    return spans(this.alarms.map((each) => ({ at: each.at, name: each.alarm, on: each.state !== "normal" && !each.state.startsWith("returned") })));
  }
}

function merged(old, more) {
  const known = new Set(old.map((each) => JSON.stringify(each)));
  return [...old, ...more.filter((each) => !known.has(JSON.stringify(each)))];
}

function spans(changes) {
  const found = [];
  const open = new Map();
  for (const { at, name, on } of changes) {
    if (on && !open.has(name)) {
      open.set(name, { name, from: at, to: null });
      found.push(open.get(name));
    } else if (!on && open.has(name)) {
      open.get(name).to = at;
      open.delete(name);
    }
  }
  return found;
}
