// The ways to the other pages: those that this device may open, by the monitor's own word.

import { el } from "../shared/dom.js";
import { t } from "../shared/words.js";

const NAMES = {
  history: () => t("more.to_history"),
  chemical: () => t("more.to_chemical"),
  plan: () => t("more.to_plan"),
  books: () => t("more.to_books"),
  sites: () => t("more.to_sites"),
  alarms: () => t("more.to_alarms"),
  practice: () => t("more.to_practice"),
  owner: () => t("more.to_owner"),
  bench: () => t("more.to_bench"),
};

async function asked() {
  const answer = await fetch("/api/ways", { signal: AbortSignal.timeout(10_000) });
  return answer.ok ? (await answer.json()).pages : [];
}

export class Ways {
  constructor() {
    this.pages = [];
  }

  /** Shows at once what is known, and the rest when the monitor has answered: a sheet never waits for it. */
  build() {
    const node = el("nav", { class: "jobs ways", "aria-label": t("more.ways") });
    this.fill(node);
    asked().then((pages) => { this.pages = pages; this.fill(node); }, () => {});
    return [node, el("p", {}, t("more.away"))];
  }

  fill(node) {
    const known = this.pages.filter((name) => name in NAMES);
    node.replaceChildren(...known.map((name) => el("a", { class: "job", href: `/${name}` }, el("span", {}, NAMES[name]()))));
  }
}
