// What all sheets of the books share: the heading, the tools, units and language, the foot that is printed.

import { corner } from "../shared/corner.js";
import { el, setText } from "../shared/dom.js";
import { chosenLanguage, currentLanguage, firstWords, loadWords, t } from "../shared/words.js";
import * as say from "../crew/say.js";
import { moment, useUnits, units } from "./figures.js";

const KEY = "holdwater.units";

export class BooksPage {
  /** `sheet`: {ask() → what it shows, title(said), draw(said) → elements, tools(said)}. */
  constructor(root, sheet) {
    this.root = root;
    this.sheet = sheet;
  }

  async start() {
    await firstWords(chosenLanguage(document.documentElement.lang));
    try {
      this.said = await this.sheet.ask();
    } catch (fault) {
      setText(this.root, fault.message);
      this.root.classList.add("plain");
      return;
    }
    const { rig } = this.said;
    this.units(stored() || rig.units);
    const language = chosenLanguage(rig.language);
    if (language !== currentLanguage()) await loadWords(language);
    this.build();
  }

  units(system) {
    useUnits(system);
    say.setUnits(system);
  }

  build() {
    const { rig } = this.said;
    document.title = `${this.sheet.title(this.said)} · ${rig.name}`;
    const other = units() === "us" ? "metric" : "us";
    const turn = () => { store(other); this.units(other); this.build(); };
    this.root.replaceChildren(
      el("header", {},
        el("div", {}, el("h1", { class: "heading" }, this.sheet.title(this.said)), el("p", { class: "soft" }, rig.name)),
        el("nav", { class: "tools", "aria-label": t("books.tools") }, this.sheet.tools(this.said, () => this.build()),
          el("button", { type: "button", onclick: () => window.print() }, t("books.print")),
          el("button", { type: "button", onclick: turn }, t(`books.units_${other}`)),
          corner(() => this.build()))),
      ...this.sheet.draw(this.said),
      el("footer", { class: "soft" }, t(rig.metered ? "books.how" : "books.how_unmetered"), " ", el("span", { class: "on-paper" }, t("books.printed", { when: moment(Date.now() / 1000, rig.timezone) }))),
    );
  }
}

export async function asked(address) {
  const answer = await fetch(address);
  const said = await answer.json();
  if (!answer.ok) throw new Error(`${said.error}: ${said.do}`);
  return said;
}

function stored() {
  try {
    return localStorage.getItem(KEY);
  } catch {
    return null; // storage refused
  }
}

function store(system) {
  try {
    localStorage.setItem(KEY, system);
  } catch {
    // it holds until the page is loaded again
  }
}
