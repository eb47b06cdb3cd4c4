// What stands at the top of every page but the crew page: the way back to it, the other language, the other colours.

import { el } from "./dom.js";
import { markPractice } from "./practice.js";
import { theme, toggleTheme } from "./theme.js";
import { chooseLanguage, otherLanguage, t } from "./words.js";

/** Three elements for a page's tools; `again` draws the page anew in what was chosen. */
export function corner(again) {
  const other = otherLanguage();
  markPractice();
  const button = (words, onclick, more) => el("button", { type: "button", onclick, ...more }, words);
  return [
    el("a", { class: "to-crew", href: "/" }, t("page.crew")),
    button(t("more.language"), async () => { await chooseLanguage(other); again(); }, { lang: other }),
    button(t(theme() === "night" ? "more.sun" : "more.night"), () => { toggleTheme(); again(); }),
  ];
}
