/** The gap between scheduled and delivered, filled by sign. */

import { columnsOf } from "#page/columns.js";
import { rgb } from "#page/ink.js";

/**
 * @typedef {import("#page/pen.js").Pen} Pen
 * @typedef {import("#page/account.js").Account} Account
 */

const ALPHA = 0.38;

/**
 * Fill where delivered stands above scheduled in one colour, below in the other: a bar per pixel
 * column, as long as the largest difference in it, so that no short event is lost.
 * @param {Pen} pen
 * @param {Account} account
 */
export function fillBetween(pen, { rows, rowTimes, scheduled, delivered, difference, gap }) {
  const { first, end, part } = columnsOf(pen, rowTimes, gap);
  const fill = (/** @type {number} */ x, /** @type {number} */ from, /** @type {number} */ to) => {
    const [top, bottom] = [pen.y(Math.max(from, to)), pen.y(Math.min(from, to))];
    const { packed } = rgb(to > from ? pen.ink.above : pen.ink.below);
    pen.pixels.bar(x, top * pen.ratio, bottom * pen.ratio, packed, ALPHA);
  };
  for (let x = 0; x < first.length; x++) {
    if (first[x] < 0) continue;
    let most = rows[first[x]];
    if (end[x] - first[x] < 2) {
      const next = rows[first[x] + (part[x] > 0 ? 1 : 0)];
      const at = (/** @type {Float64Array} */ of) => of[most] + part[x] * (of[next] - of[most]);
      fill(x, at(scheduled), at(delivered));
      continue;
    }
    let least = most;
    for (let i = first[x] + 1; i < end[x]; i++) {
      const row = rows[i];
      if (difference[row] > difference[most]) most = row;
      else if (difference[row] < difference[least]) least = row;
    }
    if (difference[most] > 0) fill(x, scheduled[most], delivered[most]);
    if (difference[least] < 0) fill(x, scheduled[least], delivered[least]);
  }
}
