// For developers: every example state on the real crew page, one at a time; the arrow keys turn the leaves.

import { CrewPage } from "../crew/crew.js";
import { el } from "../shared/dom.js";
import { useStoredTheme } from "../shared/theme.js";

const EVERY_MS = 500;
const load = async (name) => (await fetch(`/static/states/${name}.json`)).json();
const address = (name) => `?state=${encodeURIComponent(name)}`;

/** Stands in for the stream: the same state again and again, its time passing. */
class Example {
  constructor(state, onState) {
    this.state = state;
    this.onState = onState;
    this.began_ms = performance.now();
  }

  start() {
    const passed_s = () => (performance.now() - this.began_ms) / 1000;
    const tell = () => this.onState({ ...this.state, at: this.state.at + passed_s(), wall: this.state.wall + passed_s() });
    tell();
    setInterval(tell, EVERY_MS);
  }

  sinceHeard_s() {
    return 0;
  }

  everHeard() {
    return true;
  }

  silent() {
    return false;
  }
}

async function showOne(root, names, name) {
  const state = await load(name);
  const i = names.indexOf(name);
  const turn = (by) => names[(i + by + names.length) % names.length];
  document.addEventListener("keydown", (event) => {
    const by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (by && !document.querySelector("dialog[open]")) location.search = address(turn(by));
  });
  const leaf = el("nav", { class: "leaf" }, el("a", { href: address(turn(-1)) }, "←"), el("a", { href: "?" }, `${name}: ${state.title}`), el("a", { href: address(turn(1)) }, "→"));
  document.body.append(leaf);
  const doors = { live: (onState) => new Example(state, onState), past: async () => state.past, act: async () => new Response(null, { status: 204 }) };
  new CrewPage(root, doors).start();
}

async function showAll(root, names) {
  const titles = await Promise.all(names.map(async (name) => (await load(name)).title));
  const line = (name, i) => el("li", {}, el("a", { href: address(name) }, name), ` ${titles[i]}`);
  root.append(el("main", { class: "list" }, el("h1", {}, "Example states"), el("ul", {}, names.map(line))));
}

async function begin() {
  useStoredTheme();
  const root = document.getElementById("page");
  const names = await load("index");
  const wanted = new URLSearchParams(location.search).get("state");
  await (names.includes(wanted) ? showOne(root, names, wanted) : showAll(root, names));
}

begin();
