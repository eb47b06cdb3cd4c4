// Small amounts of chemical, and what is typed, in the reader's units.

import { currentLanguage, t } from "../shared/words.js";

const L_PER_GAL = 3.785411784; // NIST SP 811 (2008), appendix B
const PA_PER_PSI = 6894.757293168;
const M_PER_FT = 0.3048;

export function figure(value, digits) {
  return new Intl.NumberFormat(currentLanguage(), { minimumFractionDigits: digits, maximumFractionDigits: digits, useGrouping: false }).format(value);
}

export function unitOf(units) {
  return units === "us" ? "gal" : "L";
}

export function litres(typed, units) {
  const value = Number(String(typed).trim().replace(",", "."));
  return String(typed).trim() && Number.isFinite(value) && value >= 0 ? value * (units === "us" ? L_PER_GAL : 1) : null;
}

export function volume(value_l, units, digits = 1) {
  return `${figure(value_l / (units === "us" ? L_PER_GAL : 1), digits)} ${unitOf(units)}`;
}

export function flow(l_min, units, digits = 2) {
  return units === "us" ? `${figure(l_min / L_PER_GAL, digits)} gpm` : `${figure(l_min, digits)} L/min`;
}

export function pressure(pa, units) {
  return units === "us" ? `${figure(Math.round(pa / PA_PER_PSI / 10) * 10, 0)} psi` : `${figure(pa / 100_000, 0)} bar`;
}

export function length(metres, units) {
  return units === "us" ? `${figure(metres / M_PER_FT, 0)} ft` : `${figure(metres, 0)} m`;
}

/** Lengths of hose that reels and extensions come in, in metres. */
export function reels(units) {
  return units === "us" ? [0, 50, 100, 150].map((ft) => ft * M_PER_FT) : [0, 15, 30, 45];
}

export function span(seconds) {
  if (seconds < 90) return t("time.s", { n: figure(Math.ceil(seconds), 0) });
  const minutes = Math.floor(seconds / 60);
  return minutes < 60 ? t("time.min", { n: figure(minutes, 0) }) : t("time.h_min", { h: figure(Math.floor(minutes / 60), 0), m: figure(minutes % 60, 0) });
}
