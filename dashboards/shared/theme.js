// Sunlight or night, and letters whose height is known whatever typeface the device has.

const KEY = "holdwater.theme";

export function theme() {
  return document.documentElement.dataset.theme === "night" ? "night" : "sun";
}

export function setTheme(name) {
  document.documentElement.dataset.theme = name;
  try {
    localStorage.setItem(KEY, name);
  } catch {
    // it holds until the page is loaded again
  }
}

export function toggleTheme() {
  setTheme(theme() === "night" ? "sun" : "night");
}

export function useStoredTheme() {
  let stored = null;
  try {
    stored = localStorage.getItem(KEY);
  } catch {
    // storage refused: begin with sunlight
  }
  document.documentElement.dataset.theme = stored === "night" ? "night" : "sun";
}

/**
 * Typefaces differ in how tall a capital is for their size. The ratio is measured once, and the style sheet divides
 * by it, so that a height given in the style sheet is the height that is read.
 */
export function fitLetters() {
  const context = document.createElement("canvas").getContext("2d");
  const root = document.documentElement;
  context.font = `700 200px ${getComputedStyle(root).getPropertyValue("--narrow")}`;
  const heights = ["H", "0"].map((letter) => context.measureText(letter).actualBoundingBoxAscent / 200);
  const ratio = Math.min(...heights);
  if (ratio > 0.5 && ratio < 0.9) root.style.setProperty("--cap", ratio.toFixed(4));
}
