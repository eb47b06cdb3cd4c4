// The crew page: puts the parts together, lets every state heard run through them, and watches the silence.

import { el } from "../shared/dom.js";
import { fitLetters, theme, toggleTheme } from "../shared/theme.js";
import { chooseLanguage, chosenLanguage, currentLanguage, firstWords, loadWords, otherLanguage, t } from "../shared/words.js";
import { Acts } from "./acts.js";
import { Advice } from "./advice.js";
import { Alarms, foremost, isLoud } from "./alarms.js";
import { Awake } from "./awake.js";
import { Buttons, rowFor } from "./buttons.js";
import { Day } from "./day.js";
import { Explain } from "./explain.js";
import { Headline } from "./headline.js";
import { Live } from "./live.js";
import { Silence, Towing } from "./notice.js";
import { Past } from "./past.js";
import { Picture } from "./picture.js";
import { Pumps } from "./pumps.js";
import { Strip } from "../practice/strip.js";
import * as say from "./say.js";
import { Sheet } from "./sheet.js";
import * as sheets from "./sheets.js";
import { Soap } from "./soap.js";
import { Sound, soundFor } from "./sound.js";
import { Top } from "./top.js";
import { swallowBounces } from "./touch.js";
import { openPermit, openTroubles, permitStopped, troubles } from "./troubles.js";
import { openWork, workKey } from "./worksheet.js";
import { Ways } from "./ways.js";

const TICK_MS = 250;

export class CrewPage {
  /** `doors` are the page's ways to the monitor: {live(onState), past(minutes), act(body)}, each with its usual one. */
  constructor(root, doors = {}) {
    this.root = root;
    swallowBounces(root);
    this.state = null;
    this.acts = new Acts(doors.act);
    this.past = new Past(() => this.drawPicture(true), doors.past);
    this.live = doors.live ? doors.live((state) => this.hear(state)) : new Live((state) => this.hear(state));
    this.sound = new Sound();
    this.awake = new Awake();
    this.ways = new Ways();
    this.sheet = new Sheet(() => this.acts.comeHome());
    this.day = new Day(this.sheet, this.past.asking);
    this.build();
  }

  build() {
    this.top = new Top();
    this.headline = new Headline();
    this.alarms = new Alarms(() => sheets.openAlarms(this.sheet, this.acts, this.state));
    this.picture = new Picture(() => this.day.open(this.state));
    this.pumps = new Pumps();
    this.advice = new Advice();
    this.soap = new Soap();
    this.buttons = new Buttons(this.runs());
    this.silence = new Silence();
    this.towing = new Towing(() => this.show());
    this.practice = new Strip();
    this.middle = el("div", { class: "middle" }, this.picture.node, this.pumps.node);
    this.main = el("main", { class: "page", hidden: true }, this.top.node, this.headline.node, this.alarms.node, this.middle,
      el("div", { class: "now-line" }, this.advice.node, this.soap.node), this.buttons.node);
    this.explain = new Explain(this.main, this.sheet, () => this.show());
    this.parts = [this.practice.node, this.main, this.towing.node, this.alarms.spoken, this.acts.home, this.sheet.node, this.silence.node];
    this.phone = matchMedia("(max-width: 680px)");
    this.upright = matchMedia("(orientation: portrait)");
    for (const shape of [this.phone, this.upright]) shape.addEventListener("change", () => this.show());
  }

  runs() {
    return {
      "act.got_it": () => this.gotIt(),
      "act.quiet": () => sheets.openQuiet(this.sheet, this.acts, foremost(this.state.alarms)),
      "act.rinsing": () => this.gunChange("rinsing"),
      "act.soaping": () => this.gunChange("soaping"),
      "act.packing": () => sheets.openPacking(this.sheet, this.acts, this.state),
      "act.new_place": () => sheets.openPlace(this.sheet, this.acts),
      "act.permit": () => openPermit(this.sheet, this.acts, this.state),
      "act.explained": () => this.explain.stop(),
      "act.sound": () => this.allowSound(),
      "act.more": () => this.more(),
    };
  }

  async start() {
    this.live.start();
    fitLetters();
    await firstWords(chosenLanguage("en")); // what stands in the markup says what to do meanwhile
    this.worded = true;
    this.root.replaceChildren(...this.parts);
    this.timer = setInterval(() => this.tick(), TICK_MS);
    if (this.state) await this.firstHeard();
  }

  hear(state) {
    const first = this.state === null;
    this.state = state;
    say.setUnits(state.rig.units);
    this.past.hear(state);
    if (!this.worded) return;
    if (first) this.firstHeard();
    this.show();
  }

  async firstHeard() {
    this.main.hidden = false;
    this.awake.ask();
    await this.useLanguage(chosenLanguage(this.state.rig.language));
  }

  async useLanguage(language) {
    if (language !== currentLanguage()) await loadWords(language).catch(() => {});
    this.show();
  }

  show() {
    const { state } = this;
    if (!state) return;
    document.title = t("page.title");
    const first = foremost(state.alarms);
    this.root.dataset.priority = first ? first.priority : "none";
    this.root.dataset.alarm = first && isLoud(first) ? "loud" : "none";
    for (const part of [this.top, this.headline, this.alarms, this.pumps, this.advice, this.soap, this.day]) part.show(state);
    this.root.dataset.practice = state.practice ? "on" : "off";
    this.practice.show(state.practice);
    this.main.inert = this.towing.show(state);
    if (this.root.dataset.alarm === "loud") this.explain.stop();
    this.buttons.show(this.keys(state, first));
    this.drawPicture();
    this.tick();
  }

  keys(state, first) {
    if (this.explain.asking) return ["act.explained"];
    return rowFor(first, { sound: this.sound.allowed(), permit: !permitStopped(state) }, this.room(first !== null));
  }

  /** How many buttons find room in the row. */
  room(alarmed) {
    if (this.phone.matches) return 3;
    return this.upright.matches && alarmed ? 4 : 6;
  }

  drawPicture(atOnce = false) {
    if (!this.state) return;
    this.picture.show(this.state, this.past.points);
    this.picture.tick(atOnce);
  }

  tick() {
    this.silence.show(this.live);
    this.top.tick(this.live);
    this.picture.tick();
    if (this.state) this.sound.tick(soundFor(this.state));
  }

  async gotIt() {
    const alarm = foremost(this.state.alarms);
    if (alarm) await this.acts.tell("acknowledge", t("act.got_it"), { alarm: alarm.alarm, ...sheets.subject(alarm) });
  }

  gunChange(act) {
    const tell = (name) => this.acts.tell(act, t(`act.${act}`), name ? { pump: name } : {});
    sheets.openWhichPump(this.sheet, this.state, tell);
  }

  async allowSound() {
    await this.sound.allow();
    this.sound.test();
    this.awake.ask();
    this.show();
  }

  more() {
    this.awake.ask();
    const jobs = [...(permitStopped(this.state) ? ["act.permit"] : []), "act.rinsing", "act.soaping", "act.packing", "act.new_place"].filter((key) => !this.buttons.shown.includes(key));
    sheets.openMore(this.sheet, {
      acts: this.acts,
      sound: this.sound,
      awake: this.awake,
      ways: this.ways,
      state: this.state,
      jobs: [[workKey(this.state), () => openWork(this.sheet, this.acts, this.state)], ...jobs.map((key) => [key, this.buttons.runs[key]])],
      explain: () => { this.sheet.close(); this.explain.start(); },
      troubles: troubles(this.state).length ? () => openTroubles(this.sheet, this.state) : null,
      theme,
      toggleTheme: () => { toggleTheme(); this.show(); },
      otherLanguage,
      toggleLanguage: () => this.toggleLanguage(),
    });
  }

  async toggleLanguage() {
    await chooseLanguage(otherLanguage()).catch(() => {});
    this.show();
  }
}
