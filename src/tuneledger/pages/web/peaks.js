/** The lowest and highest of any stretch of numbers, in a bounded count of steps. */

const BLOCK = 16;

export class Peaks {
  /** @param {Float64Array | Float32Array} values NaN counts for nothing */
  constructor(values) {
    this.values = values;
    const blocks = Math.ceil(values.length / BLOCK);
    /** Lowest and highest of every block by turns: what is read together lies together. */
    this.ends = new Float64Array(2 * blocks);
    for (let block = 0; block < blocks; block++) {
      const end = Math.min(values.length, (block + 1) * BLOCK);
      let low = Infinity;
      let high = -Infinity;
      for (let i = block * BLOCK; i < end; i++) {
        if (values[i] < low) low = values[i];
        if (values[i] > high) high = values[i];
      }
      this.ends[2 * block] = low;
      this.ends[2 * block + 1] = high;
    }
    /** What `over` found last. */
    this.low = NaN;
    this.high = NaN;
  }

  /**
   * Set `low` and `high` to those of a stretch; NaN where there is nothing.
   * @param {number} first
   * @param {number} end
   */
  over(first, end) {
    const { values, ends } = this;
    let low = Infinity;
    let high = -Infinity;
    const block = Math.ceil(first / BLOCK);
    const past = Math.max(block, Math.floor(end / BLOCK));
    const head = Math.min(end, block * BLOCK);
    for (let i = first; i < head; i++) {
      const value = values[i];
      if (value < low) low = value;
      if (value > high) high = value;
    }
    for (let k = block; k < past; k++) {
      if (ends[2 * k] < low) low = ends[2 * k];
      if (ends[2 * k + 1] > high) high = ends[2 * k + 1];
    }
    for (let i = Math.max(head, past * BLOCK); i < end; i++) {
      const value = values[i];
      if (value < low) low = value;
      if (value > high) high = value;
    }
    const some = low <= high;
    this.low = some ? low : NaN;
    this.high = some ? high : NaN;
  }
}
