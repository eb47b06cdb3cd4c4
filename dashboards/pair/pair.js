// Pairs this device: the short code, typed or brought by the QR code behind the #, is exchanged for a cookie.

import { theme, toggleTheme, useStoredTheme } from "/pair/theme.js";

const form = document.getElementById("form");
const code = document.getElementById("code");
const name = document.getElementById("name");
const said = document.getElementById("said");
const KEY = "holdwater.language";
let words = {};

/** As on the other pages: what was chosen on this device, else what the browser speaks. */
function chosen() {
  try {
    return localStorage.getItem(KEY) || navigator.language.slice(0, 2);
  } catch {
    return navigator.language.slice(0, 2); // storage refused
  }
}

async function choose(language) {
  try {
    localStorage.setItem(KEY, language);
  } catch {
    // it holds until the page is loaded again
  }
  await loadWords(language);
}

async function loadWords(wanted) {
  const language = wanted === "es" ? "es" : "en";
  const answer = await fetch(`/pair/${language}.json`);
  words = await answer.json();
  document.documentElement.lang = language;
  document.title = words["pair.title"];
  for (const node of document.querySelectorAll("[data-words]")) node.textContent = words[node.dataset.words];
  document.getElementById("language").lang = language === "es" ? "en" : "es";
  showColours();
}

function showColours() {
  const colours = document.getElementById("colours");
  colours.textContent = words[theme() === "night" ? "pair.sun" : "pair.night"];
}

async function pair(event) {
  event.preventDefault();
  said.textContent = "";
  try {
    const body = JSON.stringify({ code: code.value, name: name.value });
    const answer = await fetch("/pair", { method: "POST", headers: { "content-type": "application/json" }, body });
    if (answer.ok) return location.replace("/");
    said.textContent = words[`pair.refused.${answer.status}`] || words["pair.refused"];
  } catch {
    said.textContent = words["pair.unsent"];
  }
}

useStoredTheme();
form.addEventListener("submit", pair);
document.getElementById("language").addEventListener("click", () => choose(document.documentElement.lang === "es" ? "en" : "es"));
document.getElementById("colours").addEventListener("click", () => { toggleTheme(); showColours(); });
code.value = location.hash.slice(1, 21);
history.replaceState(null, "", location.pathname); // the code stays in no history
(code.value ? name : code).focus();
await loadWords(chosen());
