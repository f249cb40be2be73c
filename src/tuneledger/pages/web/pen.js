/** A canvas with a time axis and a value axis, and lines drawn on it at full resolution. */

import { fixed, placesOf } from "#page/numbers.js";
import { ticks } from "#page/scale.js";
import { write } from "#page/words.js";

/**
 * @typedef {import("#page/ink.js").Ink} Ink
 * @typedef {import("#page/scale.js").Range} Range
 * @typedef {import("#page/series.js").Series} Series
 */

const CROWDED = 2; // samples per device pixel from which on a line is drawn column by column
const MANY = 400; // samples from which on a line is drawn in hairs

export class Pen {
  /**
   * @param {CanvasRenderingContext2D} c
   * @param {{ width: number, height: number, ratio: number }} size CSS pixels, and device per CSS
   * @param {{ from: number, to: number }} window
   * @param {Ink} ink
   */
  constructor(c, { width, height, ratio }, { from, to }, ink) {
    this.c = c;
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
   * Paper ruled like a plotting table's: times and values at round numbers.
   * @param {number} parts of the value axis, at most
   */
  rule(parts) {
    const { c, width, height, ink } = this;
    c.strokeStyle = ink.grid;
    c.lineWidth = 1;
    c.beginPath();
    for (const t of ticks({ low: this.from, high: this.to }, width / 90).at) {
      const x = Math.round(this.x(t)) + 0.5;
      c.moveTo(x, 0);
      c.lineTo(x, height);
    }
    const { at } = ticks(this.range, parts);
    for (const v of at) {
      const y = Math.round(this.y(v)) + 0.5;
      c.moveTo(0, y);
      c.lineTo(width, y);
    }
    c.stroke();
  }

  /**
   * The numbers of the value axis, on the paper's own left edge; drawn last, over the lines.
   * @param {number} parts
   * @param {(value: number, places: number) => string} [spell]
   */
  figures(parts, spell = fixed) {
    const { step, at } = ticks(this.range, parts);
    const places = placesOf(step);
    for (const v of at) {
      const y = this.y(v);
      if (y < 5 || y > this.height - 5) continue;
      write(this, spell(v, places), 4, y, this.ink.soft);
    }
  }

  /**
   * The line of a series in this window. A broad stroke of many samples costs the browser most of
   * all that a strip does, a hair of one device pixel next to nothing: so such a line is made of
   * hairs side by side.
   * @param {Series} series
   * @param {number} width CSS pixels
   */
  stroke(series, width) {
    const { c, ratio } = this;
    const [first, end] = series.within(this.from, this.to);
    const path = new Path2D();
    this.trace(series, path);
    const hairs = end - first > MANY ? Math.max(1, Math.round(width * ratio)) : 0;
    c.lineWidth = hairs ? 1 / ratio : width;
    if (hairs < 2) return c.stroke(path);
    const apart = 0.7 / ratio;
    c.save();
    c.translate((-apart * (hairs - 1)) / 2, (-apart * (hairs - 1)) / 2);
    for (let hair = 0; hair < hairs; hair++) {
      c.stroke(path);
      c.translate(apart, apart);
    }
    c.restore();
  }

  /**
   * The line of a series in this window, as a path. Every sample counts: where several fall on one
   * pixel column, the line goes through the first, lowest, highest and last.
   * @param {Series} series
   * @param {Path2D} path
   */
  trace(series, path) {
    const [first, end] = series.within(this.from, this.to);
    if (end - first > CROWDED * this.width * this.ratio) this.#columns(series, path, first, end);
    else this.#samples(series, path, first, end);
  }

  /**
   * @param {Series} series
   * @param {Path2D} c
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
   * @param {Path2D} c
   * @param {number} first
   * @param {number} end
   */
  #columns({ times, values, gap, step }, c, first, end) {
    const perColumn = this.ratio * this.perSecond;
    let i = first;
    let last = -Infinity;
    let held = NaN;
    while (i < end) {
      const column = Math.floor((times[i] - this.from) * perColumn);
      const x = (column + 0.5) / this.ratio;
      const open = times[i] - last > gap;
      let low = values[i];
      let high = low;
      const enters = low;
      let leaves = low;
      const border = this.from + (column + 1) / perColumn;
      last = times[i++];
      while (i < end && times[i] < border && times[i] - last <= gap) {
        leaves = values[i];
        if (leaves < low) low = leaves;
        else if (leaves > high) high = leaves;
        last = times[i++];
      }
      if (open) c.moveTo(x, this.y(enters));
      else if (step) c.lineTo(x, this.y(held));
      c.lineTo(x, this.y(enters));
      if (low < enters && low < leaves) c.lineTo(x, this.y(low));
      if (high > enters && high > leaves) c.lineTo(x, this.y(high));
      if (leaves !== enters) c.lineTo(x, this.y(leaves));
      else if (open) c.lineTo(x + 1 / this.ratio, this.y(leaves));
      held = leaves;
    }
  }
}
