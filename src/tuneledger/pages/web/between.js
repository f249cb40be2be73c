/** The gap between scheduled and delivered, filled by sign. */

import { lowerBound } from "#page/series.js";

/**
 * @typedef {import("#page/pen.js").Pen} Pen
 * @typedef {import("#page/account.js").Account} Account
 */

/**
 * Fill where delivered stands above scheduled in one colour, below in the other.
 * @param {Pen} pen
 * @param {Account} account
 */
export function fillBetween(pen, account) {
  const first = Math.max(0, lowerBound(account.rowTimes, pen.from) - 1);
  const end = Math.min(account.rows.length, lowerBound(account.rowTimes, pen.to) + 2);
  pen.c.save();
  pen.c.globalAlpha = 0.38;
  if (end - first > pen.width * pen.ratio) columns(pen, account, first, end);
  else quads(pen, account, first, end);
  pen.c.restore();
}

/**
 * A bar per pixel column, as long as the largest difference in it: no short event is lost.
 * @param {Pen} pen
 * @param {Account} account
 * @param {number} first
 * @param {number} end
 */
function columns(pen, account, first, end) {
  const { rows, rowTimes, difference } = account;
  const perColumn = pen.ratio * pen.perSecond;
  /** @type {number[]} columns and rows by turns */
  const above = [];
  /** @type {number[]} */
  const below = [];
  let i = first;
  while (i < end) {
    const column = Math.floor((rowTimes[i] - pen.from) * perColumn);
    const border = pen.from + (column + 1) / perColumn;
    let most = rows[i];
    let least = most;
    for (i++; i < end && rowTimes[i] < border; i++) {
      const row = rows[i];
      if (difference[row] > difference[most]) most = row;
      else if (difference[row] < difference[least]) least = row;
    }
    if (difference[most] > 0) above.push(column, most);
    if (difference[least] < 0) below.push(column, least);
  }
  bars(pen, account, above, pen.ink.above);
  bars(pen, account, below, pen.ink.below);
}

/**
 * @param {Pen} pen
 * @param {Account} account
 * @param {number[]} places columns and rows by turns
 * @param {string} colour
 */
function bars(pen, { scheduled, delivered }, places, colour) {
  pen.c.fillStyle = colour;
  for (let i = 0; i < places.length; i += 2) {
    const row = places[i + 1];
    const top = pen.y(Math.max(scheduled[row], delivered[row]));
    const bottom = pen.y(Math.min(scheduled[row], delivered[row]));
    pen.c.fillRect(places[i] / pen.ratio, top, 1 / pen.ratio, bottom - top);
  }
}

/**
 * The surface between the two lines, cut where they cross.
 * @param {Pen} pen
 * @param {Account} account
 * @param {number} first
 * @param {number} end
 */
function quads(pen, account, first, end) {
  const above = new Path2D();
  const below = new Path2D();
  const { rows, rowTimes, scheduled, delivered, difference, gap } = account;
  for (let i = first; i + 1 < end; i++) {
    if (rowTimes[i + 1] - rowTimes[i] > gap) continue;
    const [a, b] = [rows[i], rows[i + 1]];
    const [from, to] = [difference[a], difference[b]];
    if (from === 0 && to === 0) continue;
    const [x0, x1] = [pen.x(rowTimes[i]), pen.x(rowTimes[i + 1])];
    const [s0, s1, d0, d1] = [scheduled[a], scheduled[b], delivered[a], delivered[b]].map((v) =>
      pen.y(v),
    );
    if (from * to >= 0) {
      surface(from + to > 0 ? above : below, x0, s0, d0, x1, s1, d1);
      continue;
    }
    const part = from / (from - to);
    const x = x0 + part * (x1 - x0);
    const y = s0 + part * (s1 - s0);
    surface(from > 0 ? above : below, x0, s0, d0, x, y, y);
    surface(to > 0 ? above : below, x, y, y, x1, s1, d1);
  }
  pen.c.fillStyle = pen.ink.above;
  pen.c.fill(above);
  pen.c.fillStyle = pen.ink.below;
  pen.c.fill(below);
}

/**
 * @param {Path2D} path
 * @param {number} x0
 * @param {number} s0
 * @param {number} d0
 * @param {number} x1
 * @param {number} s1
 * @param {number} d1
 */
function surface(path, x0, s0, d0, x1, s1, d1) {
  path.moveTo(x0, s0);
  path.lineTo(x1, s1);
  path.lineTo(x1, d1);
  path.lineTo(x0, d0);
  path.closePath();
}
