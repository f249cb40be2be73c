/** The own samples of one channel, looked up by time. */

import { Peaks } from "#page/peaks.js";

/**
 * Index of the first time that is not before `time`; the length where all are.
 * @param {Float64Array | Int32Array} times ascending
 * @param {number} time
 */
export function lowerBound(times, time) {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle] < time) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * Index of the time nearest to `time`, −1 where there is none.
 * @param {Float64Array} times
 * @param {number} time
 */
export function nearest(times, time) {
  const after = lowerBound(times, time);
  if (after === 0) return times.length ? 0 : -1;
  if (after === times.length) return after - 1;
  return time - times[after - 1] <= times[after] - time ? after - 1 : after;
}

/** Samples that follow each other within `gap` seconds belong together; a longer hole is open. */
export class Series {
  /**
   * @param {Float64Array} times in file order, not falling
   * @param {Float64Array} values NaN where the channel has no sample of its own
   * @param {{ gap: number, step?: boolean }} how `step`: it holds its value between samples
   */
  constructor(times, values, { gap, step = false }) {
    const own = values.some(Number.isNaN) ? ownRows(values) : null;
    this.times = own ? Float64Array.from(own, (i) => times[i]) : times;
    this.values = own ? Float64Array.from(own, (i) => values[i]) : values;
    this.gap = gap;
    this.step = step;
    const [low, high] = extremes(this.values);
    this.low = low;
    this.high = high;
    /** @type {Peaks | null} */
    this.kept = null;
    /** Where a sample follows a hole: indices, ascending. */
    this.breaks = Int32Array.from(holes(this.times, gap));
  }

  /** Lowest and highest of any stretch, made once somebody asks. */
  get peaks() {
    this.kept ??= new Peaks(this.values);
    return this.kept;
  }

  /**
   * The sample that counts at a time: the last one where the channel holds its value, else the
   * nearest. −1 in a hole and outside.
   * @param {number} time
   */
  indexAt(time) {
    const { times, gap } = this;
    if (Number.isNaN(time)) return -1;
    const index = this.step ? lowerBound(times, time + 1e-9) - 1 : nearest(times, time);
    if (index < 0 || Math.abs(times[index] - time) > gap) return -1;
    return index;
  }

  /**
   * The range of samples to draw for a window, with one neighbour at either side.
   * @param {number} from
   * @param {number} to
   * @returns {[number, number]} first and one past the last
   */
  within(from, to) {
    const first = Math.max(0, lowerBound(this.times, from) - 1);
    return [first, Math.min(this.times.length, lowerBound(this.times, to) + 2)];
  }
}

/**
 * @param {Float64Array} times
 * @param {number} gap
 */
function* holes(times, gap) {
  for (let i = 1; i < times.length; i++) if (times[i] - times[i - 1] > gap) yield i;
}

/** @param {Float64Array} values */
function ownRows(values) {
  const rows = [];
  for (let i = 0; i < values.length; i++) if (values[i] === values[i]) rows.push(i);
  return Int32Array.from(rows);
}

/**
 * The lowest and highest value.
 * @param {Float64Array | Float32Array} values
 * @param {number} [first]
 * @param {number} [end]
 * @returns {[number, number]} NaN, NaN where there is nothing
 */
export function extremes(values, first = 0, end = values.length) {
  let low = Infinity;
  let high = -Infinity;
  for (let i = first; i < end; i++) {
    const value = values[i];
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return low <= high ? [low, high] : [NaN, NaN];
}
