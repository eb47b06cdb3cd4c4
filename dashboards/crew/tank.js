// The tank's true outline, seen from its end, and where a volume stands in it. Metres and litres.
// `rig.outline` is [[height, full width], …], rising.

/** Built once from the rig: maps volume to height through the outline, exact at the rig's own marks. */
export class Tank {
  constructor(rig) {
    this.outline = rig.outline;
    this.top_m = rig.heights.top_m;
    this.areas = areasUnder(rig.outline);
    this.marks = marksOf(rig, (h) => this.area(h));
  }

  area(height_m) {
    return interpolate(this.outline.map((row) => row[0]), this.areas, height_m);
  }

  height_m(volume_l) {
    const area = interpolate(this.marks.map((m) => m.volume_l), this.marks.map((m) => m.area), volume_l);
    return interpolate(this.areas, this.outline.map((row) => row[0]), area);
  }

  volume_l(height_m) {
    return interpolate(this.marks.map((m) => m.area), this.marks.map((m) => m.volume_l), this.area(height_m));
  }

  halfWidth_m(height_m) {
    return interpolate(this.outline.map((row) => row[0]), this.outline.map((row) => row[1] / 2), height_m);
  }

  widest_m() {
    return Math.max(...this.outline.map((row) => row[1]));
  }
}

function areasUnder(outline) {
  const areas = [0];
  for (let i = 1; i < outline.length; i += 1) {
    const rise = outline[i][0] - outline[i - 1][0];
    areas.push(areas[i - 1] + (rise * (outline[i][1] + outline[i - 1][1])) / 2);
  }
  return areas;
}

function marksOf(rig, area) {
  const known = [
    [0, 0],
    [rig.heights.heel_m, rig.heel_l],
    [rig.heights.band_m && rig.heights.band_m[0], rig.band_l && rig.band_l[0]],
    [rig.heights.band_m && rig.heights.band_m[1], rig.band_l && rig.band_l[1]],
    [rig.heights.tow_m, rig.tow_limit_l],
    [rig.heights.full_m, rig.full_l],
    [rig.heights.top_m, rig.capacity_l],
  ].filter(([h, v]) => typeof h === "number" && typeof v === "number");
  known.sort((one, other) => one[1] - other[1]);
  const rising = known.filter(([h, v], i) => i === 0 || (v > known[i - 1][1] && h > known[i - 1][0]));
  return rising.map(([h, v]) => ({ area: area(h), volume_l: v }));
}

/** Straight between the points of a rising table, flat beyond its ends. */
export function interpolate(xs, ys, x) {
  if (x <= xs[0]) return ys[0];
  for (let i = 1; i < xs.length; i += 1) {
    if (x <= xs[i]) {
      const part = xs[i] === xs[i - 1] ? 1 : (x - xs[i - 1]) / (xs[i] - xs[i - 1]);
      return ys[i - 1] + part * (ys[i] - ys[i - 1]);
    }
  }
  return ys[ys.length - 1];
}

/** The outline as an SVG path between two heights, around `middle`; `x` and `y` are functions from metres to pixels. */
export function outlinePath(tank, from_m, to_m, middle, x, y) {
  const inside = tank.outline.map((row) => row[0]).filter((h) => h > from_m && h < to_m);
  const heights = [from_m, ...inside, to_m];
  const side = (sign) => heights.map((h) => [middle + sign * x(tank.halfWidth_m(h)), y(h)]);
  const points = [...side(-1), ...side(1).reverse()];
  return `M${points.map(([px, py]) => `${px.toFixed(1)},${py.toFixed(1)}`).join("L")}Z`;
}
