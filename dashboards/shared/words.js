// The page's words in the reader's language: fetched once, filled in by name.

export const LANGUAGES = ["en", "es"];
const KEY = "holdwater.language";
const AGAIN_MS = 1000, PATIENCE_MS = 10_000;

let words = {};
let language = "en";

async function fetched(url) {
  const answer = await fetch(url, { signal: AbortSignal.timeout(PATIENCE_MS) });
  if (!answer.ok) throw new Error(`${url} answered ${answer.status}`);
  return answer.json();
}

/** Loads a language: the alarm words come merged in from the monitor, the page's own are in a file beside it. */
export async function loadWords(wanted) {
  const lang = LANGUAGES.includes(wanted) ? wanted : "en";
  const own = fetched(`/static/words/${lang}.json`);
  const merged = fetched(`/api/words/${lang}`).catch(() => ({ alarms: {} }));
  const [page, all] = await Promise.all([own, merged]);
  words = { ...page, ...all };
  language = lang;
  document.documentElement.lang = lang;
}

/** The first words of a page: without words there is no page, so they are asked for until they come. */
export async function firstWords(wanted) {
  while (!(await loadWords(wanted).then(() => true, () => false))) await pause();
}

/** Until it is worth asking again. */
export function pause() {
  return new Promise((done) => setTimeout(done, AGAIN_MS));
}

/** The language somebody chose on this device, else the one given. */
export function chosenLanguage(otherwise) {
  try {
    return localStorage.getItem(KEY) || otherwise;
  } catch {
    return otherwise; // storage refused
  }
}

/** Loads a language and keeps to it on this device, on every page. */
export async function chooseLanguage(wanted) {
  try {
    localStorage.setItem(KEY, wanted);
  } catch {
    // it holds until the page is loaded again
  }
  await loadWords(wanted);
}

export function otherLanguage() {
  return LANGUAGES.find((each) => each !== language);
}

export function currentLanguage() {
  return language;
}

const FIGURE = /(\d) (?=(?:gal|gpm|L|L\/min|min|h|s|lb|kg|%)(?![\p{L}\d]))|(≈) (?=\d)/gu;

/** The words for a key, with {name} replaced and figures kept on one line with their units; an unknown key shows itself, so that tests and people see it. */
export function t(key, values) {
  const text = words[key];
  if (typeof text !== "string") return `[${key}]`;
  const said = text.replace(/\{(\w+)\}/g, (all, name) => (values && name in values ? values[name] : all));
  return said.replace(FIGURE, "$1$2\u00a0");
}

/**
 * An alarm's words: {title, cause, consequence, steps, cautions}; steps and cautions are lists of sentences. The cause
 * and the steps are those of its variant where the alarm names one. An alarm without words shows its own name.
 */
export function alarmWords(name, variant) {
  const found = (words.alarms || {})[name] || {};
  const said = { ...found, ...((found.variants || {})[variant] || {}) };
  return {
    title: said.title || name,
    cause: said.cause || "",
    consequence: said.consequence || "",
    steps: sentences(said.do),
    cautions: sentences(said.cautions),
  };
}

function sentences(said) {
  if (Array.isArray(said)) return said;
  return said ? said.match(/.+?(?:[.?!](?=\s|$)|$)/g).map((sentence) => sentence.trim()) : [];
}
