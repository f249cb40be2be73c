/** A strip as it stands on the page: its paper, its marks at the cursor, its values. */

import { el, sized } from "#page/dom.js";
import { Pen } from "#page/pen.js";

/**
 * @typedef {import("#page/strips.js").Strip} Strip
 * @typedef {import("#page/ink.js").Ink} Ink
 * @typedef {import("#page/scale.js").Range} Range
 * @typedef {import("#page/sheet.js").Sheet} Sheet
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
    this.values = readings.map((_, i) => el("output", { class: `value-${i}`, "aria-live": "off" }));
    this.marks = readings.map((_, i) => el("i", { class: `mark mark-${i}`, hidden: true }));
    this.paper = el("div", { class: "strip-paper" }, ...this.marks);
    this.paper.style.height = `${strip.height}px`;
    /** What the values say, so that only what changes is written. */
    this.told = readings.map(() => "");
    /** Of its own, where it is printed: a sheet under many strips would be cut between two pages. */
    this.canvas = /** @type {HTMLCanvasElement | null} */ (null);
    /** Its upper edge on the board, CSS pixels. */
    this.top = 0;
    /** Whether it is on the screen, or nearly. */
    this.near = true;
    /** @type {Range | undefined} what its paper spans just now */
    this.range = undefined;
  }

  /**
   * @param {Paper} paper
   * @param {Uint32Array} ground what lies under the lines, a row of pixels
   * @param {Sheet} sheet
   * @param {number} from the board's height at which the sheet begins, CSS pixels
   */
  draw({ width, ratio, look, ink }, ground, sheet, from) {
    const { height } = this.strip;
    const pixels = sheet.take(ground.length, Math.round(height * ratio));
    pixels.lay(ground);
    const pen = new Pen(pixels, { width, height, ratio }, look, ink);
    this.strip.draw(pen);
    this.range = pen.range;
    if (this.canvas) sized(this.canvas, width, height, ratio);
    sheet.put(this.canvas ? 0 : Math.round((this.top - from) * ratio), this.canvas ?? undefined);
  }

  /** Give it a canvas of its own, or take that away. @param {boolean} own */
  stand(own) {
    this.canvas?.remove();
    this.canvas = own ? /** @type {HTMLCanvasElement} */ (el("canvas", { "aria-hidden": "true" })) : null;
    if (this.canvas) this.paper.prepend(this.canvas);
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
      const told = Number.isNaN(time) ? "" : text;
      if (this.told[i] !== told) values[i].textContent = this.told[i] = told;
      const drawn = seen && range !== undefined && !Number.isNaN(value);
      if (marks[i].hidden === drawn) marks[i].hidden = !drawn;
      if (!drawn) return;
      const y = ((range.high - value) / (range.high - range.low)) * height;
      marks[i].style.transform = `translate(${x}px, ${y}px)`;
    });
  }
}
