// The stream of states: opened, watched by the page's own elapsed time, opened again when it falls silent.

const REOPEN_AFTER_S = 5; // a stream that is open and says nothing may be a dead connection
const POLL_EVERY_S = 1;
export const SILENT_AFTER_S = 3;

const now_s = () => performance.now() / 1000;

/** Calls `onState(state)` for every state heard. `sinceHeard_s()` is by this page's own clock. */
export class Live {
  constructor(onState) {
    this.onState = onState;
    this.started_s = now_s();
    this.heard_s = null;
    this.tried_s = now_s();
    this.polled_s = now_s();
    this.late_s = 0;
    this.last = null;
  }

  start() {
    this.open();
    this.timer = setInterval(() => this.watch(), 250);
  }

  sinceHeard_s() {
    return now_s() - (this.heard_s === null ? this.started_s : this.heard_s);
  }

  everHeard() {
    return this.heard_s !== null;
  }

  silent() {
    return this.sinceHeard_s() >= SILENT_AFTER_S;
  }

  open() {
    this.tried_s = now_s();
    if (this.stream) this.stream.close();
    if (typeof EventSource === "undefined") return;
    this.stream = new EventSource("/api/live");
    this.stream.onmessage = (event) => this.take(JSON.parse(event.data));
  }

  /** A state that was queued on its way is old news: it is shown, but does not count as heard. */
  take(state) {
    if (this.overtaken(state)) return;
    const arrived_s = now_s();
    this.late_s = this.lateness_s(state, arrived_s);
    this.last = { at: state.at, speed: state.speed, started_s: state.started_s, arrived_s };
    if (this.late_s < SILENT_AFTER_S) this.heard_s = arrived_s;
    this.onState(state);
  }

  /** An answer that was asked for may come after a newer state of the stream. */
  overtaken(state) {
    const begun = (s) => s.at - (s.speed || 1) * s.started_s;
    const sameRun = this.last !== null && Math.abs(begun(state) - begun(this.last)) < 2;
    return sameRun && state.at < this.last.at;
  }

  /**
   * How far the states have fallen behind their arrival. Half is forgiven, for a monitor that runs slow is no wire that
   * lags; and never more than a few seconds are held against it, for one that slept with its machine is well again.
   */
  lateness_s(state, arrived_s) {
    const { last } = this;
    if (!last || last.speed !== state.speed || state.started_s < last.started_s) return 0;
    const gap_s = arrived_s - last.arrived_s;
    const late_s = this.late_s + gap_s / 2 - (state.at - last.at) / (state.speed || 1);
    return Math.min(Math.max(late_s, 0), 2 * SILENT_AFTER_S);
  }

  watch() {
    const quiet_s = this.sinceHeard_s();
    if (quiet_s > REOPEN_AFTER_S && now_s() - this.tried_s > REOPEN_AFTER_S) this.open();
    if (quiet_s > 2 * POLL_EVERY_S && now_s() - this.polled_s > POLL_EVERY_S) this.poll();
  }

  /** While the stream says nothing the state is asked for, one request at a time. */
  async poll() {
    this.polled_s = now_s() + 60;
    try {
      const answer = await fetch("/api/state", { cache: "no-store", signal: AbortSignal.timeout(2500) });
      if (answer.ok) this.take(await answer.json());
    } catch {
      // silence is shown by the page; there is nothing to add here
    }
    this.polled_s = now_s();
  }
}
