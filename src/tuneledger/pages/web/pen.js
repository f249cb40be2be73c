/** A canvas with a time axis and a value axis, and lines drawn on it at full resolution. */

import { fixed, placesOf } from "#page/numbers.js";
import { ticks } from "#page/scale.js";

/**
 * @typedef {import("#page/ink.js").Ink} Ink
 * @typedef {import("#page/scale.js").Range} Range
 * @typedef {import("#page/series.js").Series} Series
 */

const CROWDED = 2; // samples per device pixel from which on a line is drawn column by column

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
    const { c, ink } = this;
    const { step, at } = ticks(this.range, parts);
    const places = placesOf(step);
    c.font = ink.font;
    c.textBaseline = "middle";
    c.textAlign = "left";
    for (const v of at) {
      const y = this.y(v);
      if (y < 5 || y > this.height - 5) continue;
      this.label(spell(v, places), 4, y);
    }
  }

  /**
   * Words with a rim of paper, readable over lines.
   * @param {string} text
   * @param {number} x
   * @param {number} y
   * @param {string} [colour]
   */
  label(text, x, y, colour = this.ink.soft) {
    const { c } = this;
    c.lineJoin = "round";
    c.lineWidth = 3.5;
    c.strokeStyle = this.ink.paper;
    c.strokeText(text, x, y);
    c.fillStyle = colour;
    c.fillText(text, x, y);
  }

  /**
   * The line of a series in this window, put into the current path. Every sample counts: where
   * several fall on one pixel column, the line goes through the first, lowest, highest and last.
   * @param {Series} series
   */
  trace(series) {
    const [first, end] = series.within(this.from, this.to);
    if (end - first > CROWDED * this.width * this.ratio) this.#columns(series, first, end);
    else this.#samples(series, first, end);
  }

  /**
   * @param {Series} series
   * @param {number} first
   * @param {number} end
   */
  #samples({ times, values, gap, step }, first, end) {
    const { c } = this;
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
   * @param {number} first
   * @param {number} end
   */
  #columns({ times, values, gap, step }, first, end) {
    const { c } = this;
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
