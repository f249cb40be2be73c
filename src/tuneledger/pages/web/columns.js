/** Which rows stand for each pixel column of the paper. */

import { lowerBound } from "#page/series.js";

/**
 * @typedef {object} Columns per device column. Two rows or more: `first` up to `end`. Else a place
 *   between `first` and the row after it, `part` of the way; −1 in a hole.
 * @property {Int32Array} first
 * @property {Int32Array} end
 * @property {Float32Array} part
 */

/**
 * @param {import("#page/pen.js").Pen} pen
 * @param {Float64Array} times
 * @param {number} gap seconds beyond which a hole is open
 * @returns {Columns}
 */
export function columnsOf(pen, times, gap) {
  const count = pen.pixels.width;
  const perColumn = pen.ratio * pen.perSecond;
  const first = new Int32Array(count).fill(-1);
  const end = new Int32Array(count);
  const part = new Float32Array(count);
  let i = lowerBound(times, pen.from);
  let many = 1;
  for (let c = 0; c < count; c++) {
    const next = firstFrom(times, pen.from + (c + 1) / perColumn, i, i + many);
    many = next - i;
    if (many > 1) {
      first[c] = i;
      end[c] = next;
    } else {
      const middle = pen.from + (c + 0.5) / perColumn;
      const before = many && times[i] <= middle ? i : i - 1;
      const apart = times[before + 1] - times[before];
      const joined = apart <= gap;
      first[c] = joined ? before : many ? i : -1;
      end[c] = first[c] + 1;
      part[c] = joined && apart > 0 ? (middle - times[before]) / apart : 0;
    }
    i = next;
  }
  return { first, end, part };
}

/**
 * The first index not below `least` whose time is not before `time`, looked for about a guess: the
 * samples of a log come at even steps, mostly.
 * @param {Float64Array} times
 * @param {number} time
 * @param {number} least
 * @param {number} guess
 */
export function firstFrom(times, time, least, guess) {
  let i = Math.min(Math.max(guess, least), times.length);
  while (i > least && times[i - 1] >= time) i--;
  while (i < times.length && times[i] < time) i++;
  return i;
}
