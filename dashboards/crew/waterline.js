// "I looked: it stands here": the tank in its outline, to be touched where the water stands.

import { el, setText, svg } from "../shared/dom.js";
import { t } from "../shared/words.js";
import * as say from "./say.js";
import { Tank, outlinePath } from "./tank.js";

const BOX = { width: 300, height: 300, edge: 6 };

export class WaterLine {
  constructor(rig, volume_l, onChange) {
    this.tank = new Tank(rig);
    this.onChange = onChange;
    this.step_l = say.litresOf(rig.units === "us" ? 5 : 20); // no finer than people read a tank
    this.capacity_l = rig.capacity_l;
    this.perM = (BOX.height - 2 * BOX.edge) / Math.max(this.tank.top_m, this.tank.widest_m());
    this.build(rig);
    this.set(volume_l === null ? rig.capacity_l / 2 : volume_l);
  }

  build(rig) {
    this.water = svg("path", { class: "tank-water" });
    this.canvas = svg("svg", { viewBox: `0 0 ${BOX.width} ${BOX.height}`, class: "waterline-tank", "aria-hidden": "true" },
      svg("path", { class: "tank-inside", d: this.path(this.tank.top_m) }),
      this.water,
      svg("path", { class: "tank-wall", d: this.path(this.tank.top_m) }));
    this.canvas.addEventListener("pointerdown", (event) => this.touch(event));
    this.canvas.addEventListener("pointermove", (event) => event.buttons && this.touch(event));
    this.slider = el("input", { type: "range", min: 0, max: Math.floor(rig.capacity_l / this.step_l), step: 1, "aria-label": t("stands.slide") });
    this.slider.addEventListener("input", () => this.set(Number(this.slider.value) * this.step_l));
    const nudge = (sign) => () => this.set(this.volume_l + sign * this.step_l);
    const button = (key, sign) => el("button", { class: "job", type: "button", onclick: nudge(sign) }, t(key));
    this.said = el("output", { class: "waterline-said" });
    this.node = el("div", { class: "waterline" }, this.canvas,
      el("div", { class: "waterline-side" }, this.said, button("stands.more", 1), button("stands.less", -1), this.slider));
  }

  y(height_m) {
    return BOX.height - BOX.edge - height_m * this.perM;
  }

  path(to_m) {
    return outlinePath(this.tank, 0, to_m, BOX.width / 2, (m) => m * this.perM, (h) => this.y(h));
  }

  touch(event) {
    const box = this.canvas.getBoundingClientRect();
    const y = ((event.clientY - box.top) / box.height) * BOX.height;
    const height_m = (BOX.height - BOX.edge - y) / this.perM;
    this.set(this.tank.volume_l(Math.min(Math.max(height_m, 0), this.tank.top_m)));
  }

  set(volume_l) {
    const most_l = Math.floor(this.capacity_l / this.step_l) * this.step_l;
    this.volume_l = Math.min(Math.max(Math.round(volume_l / this.step_l) * this.step_l, 0), most_l);
    this.slider.value = String(Math.round(this.volume_l / this.step_l));
    this.slider.setAttribute("aria-valuetext", say.volume(this.volume_l));
    this.water.setAttribute("d", this.path(Math.max(this.tank.height_m(this.volume_l), 0.001)));
    setText(this.said, say.volume(this.volume_l));
    this.onChange(this.volume_l);
  }
}
