// Keeps the screen awake where the browser lets the page; off the monitor's own device that takes HTTPS.

export class Awake {
  constructor() {
    this.lock = null;
    document.addEventListener("visibilitychange", () => this.ask());
  }

  possible() {
    return "wakeLock" in navigator;
  }

  held() {
    return this.lock !== null && !this.lock.released;
  }

  /** "held", "refused" or "missing", where the browser gives it to no page that came without HTTPS. */
  how() {
    if (!this.possible()) return "missing";
    return this.held() ? "held" : "refused";
  }

  async ask() {
    if (!this.possible() || document.visibilityState !== "visible" || this.held()) return;
    try {
      this.lock = await navigator.wakeLock.request("screen");
    } catch {
      this.lock = null; // refused on low battery or by policy: the page works without
    }
  }
}
