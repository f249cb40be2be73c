/** Lines on the paper of a strip, and the thresholds that they cross, named from the right edge. */

import { quantity } from "#page/units.js";
import { write } from "#page/words.js";

/**
 * @typedef {import("#page/pen.js").Pen} Pen
 * @typedef {import("#page/series.js").Series} Series
 * @typedef {import("#page/types.js").LineData} LineData
 *
 * @typedef {{ says: string, y: number, under: boolean }} Label of a threshold
 */

export const BROAD = { width: 6, alpha: 0.3 }; // what is rehearsed: a broad pencil

/**
 * A threshold in the unit that is shown, with its number in words.
 * @param {LineData} line
 * @param {import("#page/units.js").Turn | null} how
 * @param {string} unit
 * @returns {LineData}
 */
export function inUnit({ at, side, says }, how, unit) {
  const shown = how ? how.value(at) : at;
  return { at: shown, side, says: says.replace("{}", quantity(shown, unit)) };
}

/**
 * @param {Pen} pen
 * @param {Series} series
 * @param {number} width
 * @param {number[]} [dashes]
 */
export function line(pen, series, width, dashes = []) {
  const { c, ink } = pen;
  c.strokeStyle = ink.ink;
  c.lineJoin = "bevel";
  c.setLineDash(dashes);
  pen.stroke(series, width);
  c.setLineDash([]);
}

/**
 * @param {Pen} pen
 * @param {Series} series
 */
export function broad(pen, series) {
  pen.c.save();
  pen.c.globalAlpha = BROAD.alpha;
  line(pen, series, BROAD.width);
  pen.c.restore();
}

/**
 * The threshold's line, and the part of the channel for which its condition holds.
 * @param {Pen} pen
 * @param {Series} series
 * @param {LineData} threshold
 * @returns {Label}
 */
export function drawThreshold(pen, series, { at, side, says }) {
  const { c, ink, width, height } = pen;
  const y = pen.y(at);
  if (side) {
    c.save();
    c.beginPath();
    c.rect(0, side === "above" ? 0 : y, width, side === "above" ? y : height - y);
    c.clip();
    line(pen, series, 2.6);
    c.restore();
  }
  const inside = Math.min(Math.max(y, 1), height - 1);
  c.strokeStyle = ink.soft;
  c.lineWidth = 1;
  c.setLineDash([1.5, 3]);
  c.beginPath();
  c.moveTo(0, inside);
  c.lineTo(width, inside);
  c.stroke();
  c.setLineDash([]);
  const under = side === "below" ? inside < height - 14 : inside < 14;
  return { says, y: inside + (under ? 2 : -2), under };
}

/**
 * The thresholds in words, from the right edge; those that would lie on each other, side by side.
 * @param {Pen} pen
 * @param {Label[]} labels
 */
export function spell(pen, labels) {
  const { ink, width } = pen;
  /** @type {{ y: number, left: number }[]} */
  const taken = [];
  for (const { says, y, under } of labels) {
    const middle = under ? y + 6 : y - 6;
    const beside = taken.filter((other) => Math.abs(other.y - middle) < 14);
    const right = Math.min(width - 4, ...beside.map(({ left }) => left - 12));
    const wide = write(pen, says, right, middle, ink.ink, "right");
    taken.push({ y: middle, left: right - wide });
  }
}
