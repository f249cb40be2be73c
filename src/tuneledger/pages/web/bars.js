/**
 * A crowded line: in every pixel column one bar from the lowest to the highest point that the line
 * has there, so that none is lost. Where it is dashed and flat, the dashes are columns left out.
 */

/** @typedef {import("#page/pixels.js").Pixels} Pixels */

const FLAT = 2; // CSS pixels; a bar longer than that is shown whole whatever the dashes are

/** Per column, kept from line to line. */
let lowest = new Float32Array(0);
let highest = new Float32Array(0);

export class Bars {
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
    this.dashes = dashes.map((length) => Math.max(1, Math.round(length * ratio)));
    this.broad = Math.max(1, Math.round(ratio));
    const count = pixels.width;
    if (lowest.length < count) [lowest, highest] = [new Float32Array(count), new Float32Array(count)];
    this.low = lowest.fill(Infinity);
    this.high = highest.fill(-Infinity);
    this.y = 0;
  }

  /**
   * @param {number} x CSS pixels
   * @param {number} y
   */
  moveTo(x, y) {
    this.y = y * this.ratio;
    this.#reach(Math.floor(x * this.ratio));
  }

  /**
   * @param {number} x CSS pixels
   * @param {number} y
   */
  lineTo(x, y) {
    const column = Math.floor(x * this.ratio);
    this.#reach(column); // from where the line was
    this.y = y * this.ratio;
    this.#reach(column);
  }

  /** @param {number} column */
  #reach(column) {
    const { low, high, y } = this;
    if (y < low[column]) low[column] = y;
    if (y > high[column]) high[column] = y;
  }

  /**
   * @param {number} colour
   * @param {number} [alpha] 0 to 1
   * @param {[top: number, bottom: number]} [within] rows that take ink, device pixels
   */
  ink(colour, alpha = 1, within = [0, this.pixels.height]) {
    const { low, high, half, pixels } = this;
    const [on, off] = this.dashes;
    const broad = alpha < 1 ? 1 : this.broad; // bars that overlap would be darker there
    for (let x = 0; x < pixels.width; x++) {
      if (low[x] > high[x]) continue;
      if (off && x % (on + off) >= on && high[x] - low[x] < FLAT * this.ratio) continue;
      const top = Math.max(low[x] - half, within[0]);
      const bottom = Math.min(high[x] + half, within[1]);
      for (let k = x; k < Math.min(x + broad, pixels.width); k++) pixels.bar(k, top, bottom, colour, alpha);
    }
  }
}
