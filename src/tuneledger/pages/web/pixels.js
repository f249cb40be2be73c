/**
 * Paper made of pixels. A browser without a graphics card to draw on takes longer for the thousands
 * of short strokes of a crowded line than for all else; set pixel by pixel they cost a tenth.
 */

import { rgb } from "#page/ink.js";

/**
 * @typedef {{ width: number, height: number, pixels: Uint32Array }} Tile a hatching, or words
 */

const OPAQUE = 0xff000000;

export class Pixels {
  /**
   * @param {number} width device pixels
   * @param {number} height device pixels, the most that will be used
   */
  constructor(width, height) {
    this.width = width;
    /** What is used of it just now. */
    this.height = height;
    this.image = new ImageData(width, height);
    this.data = new Uint32Array(this.image.data.buffer);
  }

  /**
   * Fresh paper: every row the same.
   * @param {Uint32Array} row
   */
  lay(row) {
    const { data, width, height } = this;
    for (let y = 0; y < height; y++) data.set(row, y * width);
  }

  /**
   * A bar one column wide, its ends as fine as the numbers are.
   * @param {number} x the column
   * @param {number} top
   * @param {number} bottom
   * @param {number} colour
   * @param {number} alpha 0 to 1
   */
  bar(x, top, bottom, colour, alpha) {
    const { data, width, height } = this;
    const first = top > 0 ? Math.floor(top) : 0;
    const end = bottom < height ? Math.ceil(bottom) : height;
    const whole = (255 * alpha + 0.5) | 0;
    for (let y = first, at = first * width + x; y < end; y++, at += width) {
      if (y >= top && y + 1 <= bottom) {
        if (whole === 255) data[at] = colour;
        else blend(data, at, colour, whole);
        continue;
      }
      const cover = (bottom < y + 1 ? bottom : y + 1) - (top > y ? top : y);
      blend(data, at, colour, (whole * cover + 0.5) | 0);
    }
  }

  /**
   * The same, hatched.
   * @param {number} x
   * @param {number} top
   * @param {number} bottom
   * @param {Tile} tile
   */
  hatch(x, top, bottom, { width: wide, height: high, pixels }) {
    const { data, width, height } = this;
    const first = top > 0 ? Math.floor(top) : 0;
    const end = bottom < height ? Math.ceil(bottom) : height;
    const column = x % wide;
    for (let y = first, at = first * width + x; y < end; y++, at += width) {
      const ink = pixels[(y % high) * wide + column];
      const cover = (bottom < y + 1 ? bottom : y + 1) - (top > y ? top : y);
      blend(data, at, ink, ((ink >>> 24) * cover + 0.5) | 0);
    }
  }

  /**
   * A line across, whole or dotted.
   * @param {number} top the first row
   * @param {number} thick rows
   * @param {number} colour
   * @param {[on: number, off: number]} [dots] columns
   */
  across(top, thick, colour, [on, off] = [1, 0]) {
    const { data, width, height } = this;
    for (let y = Math.max(0, top); y < Math.min(height, top + thick); y++) {
      const row = data.subarray(y * width, (y + 1) * width);
      if (!off) row.fill(colour);
      else for (let x = 0; x < width; x += on + off) row.fill(colour, x, x + on);
    }
  }

  /**
   * A patch of bare paper at the left edge.
   * @param {number} width
   * @param {number} top
   * @param {number} bottom
   * @param {number} colour
   */
  clear(width, top, bottom, colour) {
    const end = Math.min(this.height, Math.round(bottom));
    for (let y = Math.max(0, Math.round(top)); y < end; y++) {
      this.data.fill(colour, y * this.width, y * this.width + Math.min(this.width, Math.round(width)));
    }
  }

  /**
   * Words or a picture, laid over what is there.
   * @param {Tile} tile
   * @param {number} left
   * @param {number} top
   */
  press({ width: wide, height: high, pixels }, left, top) {
    const { data, width, height } = this;
    for (let y = Math.max(0, -top); y < high && top + y < height; y++) {
      for (let x = Math.max(0, -left); x < wide && left + x < width; x++) {
        const ink = pixels[y * wide + x];
        const at = (top + y) * width + left + x;
        if (ink >>> 24) blend(data, at, ink, ink >>> 24);
      }
    }
  }
}

/**
 * Lay a colour over a pixel, which is opaque and stays it.
 * @param {Uint32Array} data
 * @param {number} at
 * @param {number} colour whatever alpha it has counts for nothing
 * @param {number} alpha whole, 0 to 255
 */
export function blend(data, at, colour, alpha) {
  const under = data[at] | 0;
  const rest = 255 - alpha;
  // v / 255, rounded, is (v + 128 + ((v + 128) >> 8)) >> 8
  const r = (under & 255) * rest + (colour & 255) * alpha + 128;
  const g = ((under >> 8) & 255) * rest + ((colour >> 8) & 255) * alpha + 128;
  const b = ((under >> 16) & 255) * rest + ((colour >> 16) & 255) * alpha + 128;
  data[at] =
    OPAQUE | (((b + (b >> 8)) >> 8) << 16) | (((g + (g >> 8)) >> 8) << 8) | ((r + (r >> 8)) >> 8);
}

/**
 * Fresh paper with patches of colour on it, as a row of pixels.
 * @param {number} width
 * @param {string} paper
 * @param {{ left: number, right: number, colour: string }[]} patches
 */
export function groundRow(width, paper, patches) {
  const row = new Uint32Array(width).fill(rgb(paper).packed);
  for (const { left, right, colour } of patches) {
    const { packed, alpha } = rgb(colour);
    for (let x = Math.max(0, Math.floor(left)); x < Math.min(width, Math.ceil(right)); x++) {
      const cover = Math.min(right, x + 1) - Math.max(left, x);
      blend(row, x, packed, Math.round(255 * alpha * cover));
    }
  }
  return row;
}
