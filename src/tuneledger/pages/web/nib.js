/** A nib that draws lines on paper made of pixels, with edges as fine as the numbers are. */

import { blend } from "#page/pixels.js";

/** @typedef {import("#page/pixels.js").Pixels} Pixels */

/** How much of each pixel is covered, 0 to 255; kept clear between lines. */
let mask = new Uint8ClampedArray(0);

export class Nib {
  /**
   * @param {Pixels} pixels
   * @param {number} ratio device pixels per CSS pixel
   * @param {number} width of the line, CSS pixels
   * @param {number[]} [dashes] CSS pixels on and off
   */
  constructor(pixels, ratio, width, dashes = []) {
    this.pixels = pixels;
    this.ratio = ratio;
    this.half = Math.max(0.5, (width * ratio) / 2);
    this.dashes = dashes.map((length) => length * ratio);
    this.stride = (pixels.width + 3) & ~3;
    const needed = this.stride * pixels.height;
    if (mask.length < needed) mask = new Uint8ClampedArray(needed);
    this.x = this.y = this.drawn = 0;
    this.top = pixels.height;
    this.bottom = 0;
  }

  /**
   * @param {number} x CSS pixels
   * @param {number} y
   */
  moveTo(x, y) {
    this.x = x * this.ratio;
    this.y = y * this.ratio;
    this.drawn = 0;
  }

  /**
   * @param {number} x CSS pixels
   * @param {number} y
   */
  lineTo(x, y) {
    let { x: x0, y: y0 } = this;
    let x1 = (this.x = x * this.ratio);
    let y1 = (this.y = y * this.ratio);
    const far = this.pixels.width + 4; // a neighbour may lie a mile off the paper
    if (Math.max(x0, x1) < -4 || Math.min(x0, x1) > far) return;
    const slope = (y1 - y0) / (x1 - x0);
    if (x0 < -4) [x0, y0] = [-4, y0 + (-4 - x0) * slope];
    if (x1 > far) [x1, y1] = [far, y1 + (far - x1) * slope];
    if (this.dashes.length) this.#dash(x0, y0, x1, y1);
    else this.#cover(x0, y0, x1, y1);
  }

  /**
   * @param {number} x0
   * @param {number} y0
   * @param {number} x1
   * @param {number} y1
   */
  #dash(x0, y0, x1, y1) {
    const [on, off] = this.dashes;
    const length = Math.hypot(x1 - x0, y1 - y0);
    for (let done = 0; done < length;) {
      const phase = (this.drawn + done) % (on + off);
      const end = Math.min(length, done + (phase < on ? on : on + off) - phase + 1e-6);
      const [a, b] = [done / length, end / length];
      if (phase < on) {
        this.#cover(x0 + a * (x1 - x0), y0 + a * (y1 - y0), x0 + b * (x1 - x0), y0 + b * (y1 - y0));
      }
      done = end;
    }
    this.drawn += length;
  }

  /**
   * Add what a straight piece covers of each pixel: column by column where it is flat, row by row
   * where it is steep.
   * @param {number} x0
   * @param {number} y0
   * @param {number} x1
   * @param {number} y1
   */
  #cover(x0, y0, x1, y1) {
    const { half, stride } = this;
    const { width, height } = this.pixels;
    const edge = 1.5 * half;
    this.top = Math.min(this.top, (y0 < y1 ? y0 : y1) - edge);
    this.bottom = Math.max(this.bottom, (y0 < y1 ? y1 : y0) + edge);
    const [dx, dy] = [x1 - x0, y1 - y0];
    if (Math.abs(dx) >= Math.abs(dy)) sweep(x0, y0, dx, dy, half, width, height, 1, stride);
    else sweep(y0, x0, dy, dx, half, height, width, stride, 1);
  }

  /**
   * Put ink where the lines went, and make ready for the next ones.
   * @param {number} colour
   * @param {number} [alpha] 0 to 1
   * @param {[top: number, bottom: number]} [within] rows that take ink, device pixels
   */
  ink(colour, alpha = 1, within = [0, this.pixels.height]) {
    const { data, width, height } = this.pixels;
    const wide = this.stride / 4;
    const four = new Uint32Array(mask.buffer);
    const end = Math.min(height, Math.ceil(this.bottom) + 1);
    for (let y = Math.max(0, Math.floor(this.top) - 1); y < end; y++) {
      const share = Math.min(within[1], y + 1) - Math.max(within[0], y);
      const strength = alpha * Math.min(1, share);
      for (let k = y * wide; k < (y + 1) * wide; k++) {
        if (!four[k]) continue;
        for (let i = 4 * k; share > 0 && i < 4 * k + 4; i++) {
          if (!mask[i]) continue;
          const at = y * width + i - y * this.stride;
          blend(data, at, colour, (mask[i] * strength + 0.5) | 0);
        }
        four[k] = 0;
      }
    }
    [this.top, this.bottom] = [height, 0];
  }
}

/**
 * Along the longer side of a straight piece: its share of each step, over its breadth.
 * @param {number} a0 where it begins, along
 * @param {number} b0 and across
 * @param {number} da how far it goes
 * @param {number} db
 * @param {number} half its breadth
 * @param {number} long the paper's measure along
 * @param {number} broad and across
 * @param {number} stepLong from one pixel to the next
 * @param {number} stepBroad
 */
function sweep(a0, b0, da, db, half, long, broad, stepLong, stepBroad) {
  if (da === 0) return;
  const slope = db / da;
  const reach = half * Math.sqrt(1 + slope * slope);
  const start = da > 0 ? a0 : a0 + da;
  const stop = da > 0 ? a0 + da : a0;
  const end = stop < long ? Math.ceil(stop) : long;
  for (let a = start > 0 ? Math.floor(start) : 0; a < end; a++) {
    const from = a > start ? a : start;
    const to = a + 1 < stop ? a + 1 : stop;
    const share = 255 * (to - from);
    const middle = b0 + ((from + to) / 2 - a0) * slope;
    const low = middle - reach;
    const high = middle + reach;
    const last = high < broad ? Math.ceil(high) : broad;
    let b = low > 0 ? Math.floor(low) : 0;
    for (let at = a * stepLong + b * stepBroad; b < last; b++, at += stepBroad) {
      mask[at] += share * ((high < b + 1 ? high : b + 1) - (low > b ? low : b));
    }
  }
}
