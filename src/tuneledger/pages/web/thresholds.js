/** The thresholds that lines cross, named from the right edge. */

import { rgb } from "#page/ink.js";
import { placesFor } from "#page/labels.js";
import { quantity } from "#page/units.js";
import { breadth, write } from "#page/words.js";

/**
 * @typedef {import("#page/pen.js").Pen} Pen
 * @typedef {import("#page/series.js").Series} Series
 * @typedef {import("#page/types.js").LineData} LineData
 *
 * @typedef {{ says: string, y: number, below: boolean }} Label of a threshold
 */

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
 * The threshold's line, and the part of the channel for which its condition holds.
 * @param {Pen} pen
 * @param {Series} series
 * @param {LineData} threshold
 * @returns {Label}
 */
export function drawThreshold(pen, series, { at, side, says }) {
  const { pixels, ink, height, ratio } = pen;
  const y = pen.y(at);
  if (side) pen.stroke(series, 2.6, { within: side === "above" ? [0, y] : [y, height] });
  const inside = Math.min(Math.max(y, 1), height - 1);
  const thick = Math.max(1, Math.round(ratio));
  const dots = /** @type {[number, number]} */ ([Math.round(1.5 * ratio), Math.round(3 * ratio)]);
  pixels.across(Math.round(inside * ratio), thick, rgb(ink.soft).packed, dots);
  return { says, y: inside, below: side === "below" };
}

/**
 * The thresholds in words, where there is room for them.
 * @param {Pen} pen
 * @param {Label[]} labels
 * @param {import("#page/labels.js").Box[]} taken by the numbers of the value axis
 */
export function spell(pen, labels, taken) {
  const { ink } = pen.ink;
  const wanted = labels.map(({ says, ...line }) => ({ ...line, wide: breadth(pen, says, ink) }));
  placesFor(wanted, pen, taken).forEach((box, i) => {
    if (box) write(pen, labels[i].says, box.left, box.y, ink);
  });
}
