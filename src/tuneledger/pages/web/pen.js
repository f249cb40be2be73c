/** Paper with a time axis and a value axis, and lines drawn on it at full resolution. */

import { Bars } from "#page/bars.js";
import { firstFrom } from "#page/columns.js";
import { rgb } from "#page/ink.js";
import { Nib } from "#page/nib.js";
import { fixed, placesOf } from "#page/numbers.js";
import { ticks } from "#page/scale.js";
import { lowerBound } from "#page/series.js";
import { breadth, write } from "#page/words.js";

/**
 * @typedef {import("#page/ink.js").Ink} Ink
 * @typedef {import("#page/labels.js").Box} Box
 * @typedef {import("#page/pixels.js").Pixels} Pixels
 * @typedef {import("#page/scale.js").Range} Range
 * @typedef {import("#page/series.js").Series} Series
 *
 * @typedef {object} Path what a line is drawn into
 * @property {(x: number, y: number) => void} moveTo CSS pixels
 * @property {(x: number, y: number) => void} lineTo
 */

const CROWDED = 2; // samples per device pixel from which on a line is drawn column by column

export class Pen {
  /**
   * @param {Pixels} pixels as many as the size in device pixels
   * @param {{ width: number, height: number, ratio: number }} size CSS pixels, and device per CSS
   * @param {{ from: number, to: number }} window
   * @param {Ink} ink
   */
  constructor(pixels, { width, height, ratio }, { from, to }, ink) {
    this.pixels = pixels;
    this.width = width;
    this.height = height;
    this.ratio = ratio;
    this.from = from;
    this.to = to;
    this.ink = ink;
    this.perSecond = width / (to - from);
    /** @type {Range} */
    this.range = { low: 0, high: 1 };
    this.perUnit = height;
  }

  /**
   * The values between bottom and top edge.
   * @param {Range} range
   */
  over(range) {
    this.range = range;
    this.perUnit = this.height / (range.high - range.low);
  }

  /** @param {number} time */
  x(time) {
    return (time - this.from) * this.perSecond;
  }

  /** @param {number} value */
  y(value) {
    return (this.range.high - value) * this.perUnit;
  }

  /**
   * Paper ruled across like a plotting table's: values at round numbers.
   * @param {number} parts of the value axis, at most
   */
  rule(parts) {
    for (const v of ticks(this.range, parts).at) this.across(v, rgb(this.ink.grid).packed);
  }

  /**
   * A hairline across the paper.
   * @param {number} value
   * @param {number} colour
   */
  across(value, colour) {
    const { pixels, ratio } = this;
    pixels.across(Math.round(this.y(value) * ratio), Math.max(1, Math.round(ratio)), colour);
  }

  /**
   * The numbers of the value axis, on the paper's own left edge; drawn last, over the lines.
   * @param {number} parts
   * @param {(value: number, places: number) => string} [spell]
   * @returns {Box[]} where they stand
   */
  figures(parts, spell = fixed) {
    const { step, at } = ticks(this.range, parts);
    const places = placesOf(step);
    const paper = rgb(this.ink.paper).packed;
    /** @type {Box[]} */
    const boxes = [];
    for (const v of at) {
      const y = this.y(v);
      if (y < 5 || y > this.height - 5) continue;
      const text = spell(v, places);
      // a line that showed left of a number would read as its minus
      this.pixels.clear(4 * this.ratio, (y - 6) * this.ratio, (y + 6) * this.ratio, paper);
      write(this, text, 4, y, this.ink.soft);
      boxes.push({ left: 0, right: 4 + breadth(this, text, this.ink.soft), y });
    }
    return boxes;
  }

  /**
   * The line of a series in this window.
   * @param {Series} series
   * @param {number} width CSS pixels
   * @param {{ dashes?: number[], alpha?: number, within?: [top: number, bottom: number] }} [how]
   *   `within`: the part of the paper that takes ink, CSS pixels
   */
  stroke(series, width, { dashes, alpha, within } = {}) {
    const { pixels, ratio } = this;
    const nib = new (this.#crowded(series) ? Bars : Nib)(pixels, ratio, width, dashes);
    this.trace(series, nib);
    const [top, bottom] = within ?? [0, this.height];
    nib.ink(rgb(this.ink.ink).packed, alpha, [top * ratio, bottom * ratio]);
  }

  /**
   * The line of a series in this window, as a path. Every sample counts: where several fall on one
   * pixel column, the line goes through the first, lowest, highest and last.
   * @param {Series} series
   * @param {Path} path
   */
  trace(series, path) {
    const [first, end] = series.within(this.from, this.to);
    if (this.#crowded(series)) this.#columns(series, path, first, end);
    else this.#samples(series, path, first, end);
  }

  /** @param {Series} series */
  #crowded(series) {
    const [first, end] = series.within(this.from, this.to);
    return end - first > CROWDED * this.width * this.ratio;
  }

  /**
   * @param {Series} series
   * @param {Path} c
   * @param {number} first
   * @param {number} end
   */
  #samples({ times, values, gap, step }, c, first, end) {
    let last = -Infinity;
    for (let i = first; i < end; i++) {
      const x = this.x(times[i]);
      const y = this.y(values[i]);
      const open = times[i] - last > gap;
      if (open) c.moveTo(x, y);
      else if (step) c.lineTo(x, this.y(values[i - 1]));
      c.lineTo(x, y);
      const alone = i + 1 >= end || times[i + 1] - times[i] > gap;
      if (open && alone) c.lineTo(x + 1, y); // a lone sample is a dot, not nothing
      last = times[i];
    }
  }

  /**
   * @param {Series} series
   * @param {Path} c
   * @param {number} first
   * @param {number} end
   */
  #columns({ times, values, step, breaks, peaks }, c, first, end) {
    const perColumn = this.ratio * this.perSecond;
    let hole = lowerBound(breaks, first + 1);
    let i = first;
    let many = 1;
    let open = true;
    let held = NaN;
    while (i < end) {
      const column = Math.floor((times[i] - this.from) * perColumn);
      const x = (column + 0.5) / this.ratio;
      const border = this.from + (column + 1) / perColumn;
      let next = Math.min(end, firstFrom(times, border, i + 1, i + many));
      const cut = hole < breaks.length && breaks[hole] <= next;
      if (cut) next = breaks[hole++];
      many = next - i;
      peaks.over(i, next);
      const { low, high } = peaks;
      const enters = values[i];
      const leaves = values[next - 1];
      if (open) c.moveTo(x, this.y(enters));
      else if (step) c.lineTo(x, this.y(held));
      c.lineTo(x, this.y(enters));
      if (low < enters && low < leaves) c.lineTo(x, this.y(low));
      if (high > enters && high > leaves) c.lineTo(x, this.y(high));
      if (leaves !== enters) c.lineTo(x, this.y(leaves));
      else if (open) c.lineTo(x + 1 / this.ratio, this.y(leaves));
      held = leaves;
      open = cut;
      i = next;
    }
  }
}
