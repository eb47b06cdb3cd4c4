// Pairs this device: the short code, typed or brought by the QR code behind the #, is exchanged for a cookie.

import { useStoredTheme } from "/pair/theme.js";

const form = document.getElementById("form");
const code = document.getElementById("code");
const name = document.getElementById("name");
const said = document.getElementById("said");
let words = {};

async function loadWords() {
  const language = navigator.language.startsWith("es") ? "es" : "en";
  const answer = await fetch(`/pair/${language}.json`);
  words = await answer.json();
  document.documentElement.lang = language;
  document.title = words["pair.title"];
  for (const node of document.querySelectorAll("[data-words]")) node.textContent = words[node.dataset.words];
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
code.value = location.hash.slice(1, 21);
history.replaceState(null, "", location.pathname); // the code stays in no history
(code.value ? name : code).focus();
await loadWords();
