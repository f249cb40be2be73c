/** A strip as it stands on the page: its canvas, its marks at the cursor, its values. */

import { el, fitted, put, sized } from "#page/dom.js";
import { Pen } from "#page/pen.js";

/**
 * @typedef {import("#page/strips.js").Strip} Strip
 * @typedef {import("#page/ink.js").Ink} Ink
 * @typedef {import("#page/scale.js").Range} Range
 *
 * @typedef {object} Paper all that the strips share just now
 * @property {number} width CSS pixels
 * @property {number} ratio device pixels per CSS pixel
 * @property {{ from: number, to: number }} look
 * @property {Ink} ink
 */

export class Row {
  /** @param {Strip} strip */
  constructor(strip) {
    const readings = strip.read(NaN);
    this.strip = strip;
    this.canvas = /** @type {HTMLCanvasElement} */ (el("canvas", { "aria-hidden": "true" }));
    this.values = readings.map((_, i) => el("output", { class: `value-${i}`, "aria-live": "off" }));
    this.marks = readings.map((_, i) => el("i", { class: `mark mark-${i}`, hidden: true }));
    /** Whether it is on the screen, or nearly; until that is known it is. */
    this.near = true;
    /** What was put off until it is: drawing, reading. */
    this.stale = false;
    /** @type {Range | undefined} what its paper spans just now */
    this.range = undefined;
  }

  /**
   * Draw it, or put that off until it is on the screen; its place on the page it has at once.
   * @param {Paper} paper
   * @param {(pen: Pen) => void} ground
   * @param {boolean} now
   */
  show(paper, ground, now) {
    this.stale = !now;
    if (now) this.#draw(paper, ground);
    else sized(this.canvas, paper.width, this.strip.height, paper.ratio);
  }

  /**
   * @param {Paper} paper
   * @param {(pen: Pen) => void} ground what lies under the lines
   */
  #draw({ width, ratio, look, ink }, ground) {
    const { height } = this.strip;
    const c = fitted(this.canvas, width, height, ratio);
    if (!c) return;
    const pen = new Pen(c, { width, height, ratio }, look, ink);
    ground(pen);
    this.strip.draw(pen);
    this.range = pen.range;
  }

  /**
   * Show the sample at a time.
   * @param {number} time
   * @param {number} x of the cursor on the paper, CSS pixels
   * @param {boolean} seen whether the cursor stands in the window
   */
  read(time, x, seen) {
    const { range, values, marks } = this;
    const { height } = this.strip;
    this.strip.read(time).forEach(({ text, value }, i) => {
      put(values[i], Number.isNaN(time) ? "" : text);
      const drawn = seen && range !== undefined && !Number.isNaN(value);
      if (marks[i].hidden === drawn) marks[i].hidden = !drawn;
      if (!drawn) return;
      const y = ((range.high - value) / (range.high - range.low)) * height;
      marks[i].style.transform = `translate(${x}px, ${y}px)`;
    });
  }
}
