// A signal's values in the reader's units.

const US = {
  l: ["gal", 1 / 3.785411784], // NIST SP 811 (2008), appendix B, as those below
  "l/min": ["gpm", 1 / 3.785411784],
  m: ["in", 1 / 0.0254],
  Pa: ["psi", 1 / 6894.757],
  Cel: ["°F", 1.8, 32],
};
const METRIC = { l: ["L", 1], "l/min": ["L/min", 1], m: ["cm", 100], Pa: ["bar", 1e-5], Cel: ["°C", 1] };

/** {unit, of(value)} for an internal unit; what has no everyday unit stays as it is. */
export function shownIn(unit, system) {
  const [name, factor, offset = 0] = (system === "metric" ? METRIC : US)[unit] || [unit === "count" ? "" : unit, 1];
  return { unit: name, of: (value) => value * factor + offset };
}
