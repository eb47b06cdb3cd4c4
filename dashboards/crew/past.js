// The volume of the last hour: asked for once, then carried on from the stream.

import { BACK_S } from "./view.js";

const ASK_AGAIN_S = 600; // what the stream alone would miss while the page slept
const MOST_POINTS = 6000;

export class Past {
  /** `asking(minutes)` answers with {step_s, points: [[at, litres or null, sd or null], …]}. */
  constructor(onChange, asking = fromMonitor) {
    this.asking = asking;
    this.onChange = onChange;
    this.points = [];
    this.step_s = 10;
    this.asked_at = null;
  }

  hear(state) {
    const gap_s = this.last ? state.at - this.last : Infinity;
    this.last = state.at;
    const stale = this.asked_at === null || Math.abs(state.at - this.asked_at) > ASK_AGAIN_S * Math.max(1, state.speed);
    if (stale || gap_s < 0 || gap_s > 6 * this.step_s * Math.max(1, state.speed)) this.ask(state.at);
    this.add(state);
  }

  add(state) {
    const last = this.points[this.points.length - 1];
    if (last && state.at < last[0]) this.points = this.points.filter((p) => p[0] <= state.at);
    if (last && state.at - last[0] < this.step_s) return;
    this.points.push([state.at, state.forecast.volume_l, state.forecast.volume_sd_l]);
    const oldest = state.at - BACK_S - 60;
    if (this.points[0][0] < oldest || this.points.length > MOST_POINTS) {
      this.points = this.points.filter((p) => p[0] >= oldest).slice(-MOST_POINTS);
    }
  }

  async ask(at = this.last) {
    this.asked_at = at;
    try {
      const past = await this.asking(BACK_S / 60);
      this.step_s = past.step_s;
      this.points = past.points;
      this.onChange();
    } catch {
      // the picture goes on with what it has
    }
  }
}

async function fromMonitor(minutes) {
  const answer = await fetch(`/api/past?minutes=${minutes}`);
  if (!answer.ok) throw new Error(`the past answered ${answer.status}`);
  return answer.json();
}
