// PRACTICE over every page while the day is only practice; on a rig nothing is shown.

import { el } from "./dom.js";
import { t } from "./words.js";

let asked = null;

export function banner(...more) {
  return el("aside", { class: "practice-banner", "aria-label": t("practice.banner") }, el("strong", {}, t("practice.banner")), el("span", {}, t("practice.dead")), more);
}

/** Asks once, and puts the banner at the top of the page, in the words of now. */
export async function markPractice() {
  asked = asked || fetch("/api/practice").then((answer) => answer.json()).catch(() => ({}));
  const { practice } = await asked;
  if (!practice) return;
  document.querySelector("body > .practice-banner")?.remove();
  document.body.prepend(banner(el("a", { href: "/practice" }, t("practice.to_page"))));
}
