// Sound for alarms nobody has seen yet: patterns that differ by priority, between 500 and 2500 Hz.
// A browser lets a page sound only after a touch; until then the page asks for one.

// [frequency in Hz, seconds on, seconds of pause after], repeated every `every_s`
export const PATTERNS = {
  critical: { every_s: 2, tones: [[2100, 0.16, 0.06], [1500, 0.16, 0.06], [2100, 0.16, 0.06], [1500, 0.3, 0]] },
  high: { every_s: 5, tones: [[1200, 0.22, 0.1], [1200, 0.22, 0.1], [950, 0.3, 0]] },
  medium: { every_s: 15, tones: [[800, 0.25, 0.12], [640, 0.35, 0]] },
  low: { every_s: 60, tones: [[560, 0.3, 0]] },
};
const LOUD = 0.6;

export class Sound {
  constructor() {
    this.context = null;
    this.priority = null;
    this.next_ms = 0;
    this.played = 0;
  }

  allowed() {
    return this.context !== null && this.context.state === "running";
  }

  /** To be called from a touch. */
  async allow() {
    const Context = window.AudioContext || window.webkitAudioContext;
    if (!Context) return;
    this.context = this.context || new Context();
    await this.context.resume();
  }

  test() {
    this.play("high");
  }

  /** Called with the most urgent unseen priority, or null for silence; often enough to keep the rhythm. */
  tick(priority) {
    const now = performance.now();
    if (priority !== this.priority) this.next_ms = now;
    this.priority = priority;
    if (!priority || !this.allowed() || now < this.next_ms) return;
    this.next_ms = now + PATTERNS[priority].every_s * 1000;
    this.play(priority);
  }

  play(priority) {
    if (!this.allowed()) return;
    this.played += 1;
    let at = this.context.currentTime + 0.02;
    for (const [hz, on_s, pause_s] of PATTERNS[priority].tones) {
      this.tone(hz, at, on_s);
      at += on_s + pause_s;
    }
  }

  tone(hz, at, on_s) {
    const gain = this.context.createGain();
    const wave = this.context.createOscillator();
    wave.type = "square";
    wave.frequency.value = hz;
    gain.gain.setValueAtTime(0, at);
    gain.gain.linearRampToValueAtTime(LOUD, at + 0.01);
    gain.gain.setValueAtTime(LOUD, at + on_s - 0.02);
    gain.gain.linearRampToValueAtTime(0, at + on_s);
    wave.connect(gain).connect(this.context.destination);
    wave.onended = () => gain.disconnect();
    wave.start(at);
    wave.stop(at + on_s);
  }
}

/** What should be heard: the most urgent alarm not yet seen; on the road only what says stop. */
export function soundFor(state) {
  const order = ["critical", "high", "medium", "low"];
  const unseen = state.alarms.filter((a) => a.state === "unacknowledged").map((a) => a.priority);
  const audible = state.motion === true ? ["critical"] : order;
  return audible.find((priority) => unseen.includes(priority)) || null;
}
