/** The entries stacked from zero: what was added above it, what was taken below it. */

import { columnsOf } from "#page/columns.js";
import { hatching, rgb } from "#page/ink.js";
import { Peaks } from "#page/peaks.js";
import { extremes } from "#page/series.js";

/**
 * @typedef {import("#page/pen.js").Pen} Pen
 * @typedef {import("#page/account.js").Account} Account
 *
 * @typedef {object} Layer the outer edges of one entry, per judged row
 * @property {number} place  of the entry; −1 for what is unaccounted
 * @property {Float32Array} up
 * @property {Float32Array} down
 * @property {boolean} adds  whether it reaches above the layer below it anywhere
 * @property {boolean} takes
 * @property {{ [way: number]: Peaks }} peaks of both edges, once they are asked for
 */

export class Stack {
  /** @param {Account} account */
  constructor(account) {
    this.account = account;
    const { rows, entries, unaccounted } = account;
    const up = new Float32Array(rows.length);
    const down = new Float32Array(rows.length);
    /** @type {Layer[]} in the ledger's order, then what is unaccounted */
    this.layers = [...entries.map((entry) => entry.values), unaccounted].map((values, k) => {
      let adds = false;
      let takes = false;
      for (let i = 0; i < rows.length; i++) {
        const value = values[rows[i]]; // one that is not known counts as nothing
        if (value > 0) {
          up[i] += value;
          adds = true;
        } else if (value < 0) {
          down[i] += value;
          takes = true;
        }
      }
      const place = k < entries.length ? k : -1;
      return { place, up: up.slice(), down: down.slice(), adds, takes, peaks: {} };
    });
    /** The furthest points of the whole stack. */
    this.high = Math.max(0, extremes(up)[1] || 0);
    this.low = Math.min(0, extremes(down)[0] || 0);
  }

  /** @param {Pen} pen */
  draw(pen) {
    const { above, below, ink } = pen.ink;
    const columns = columnsOf(pen, this.account.rowTimes, this.account.gap);
    let up = new Float32Array(columns.first.length);
    let down = up;
    for (const layer of this.layers) {
      if (layer.adds) {
        const outer = reach(layer, columns, 1);
        band(pen, up, outer, layer.place, layer.place < 0 ? ink : above);
        up = outer;
      }
      if (layer.takes) {
        const outer = reach(layer, columns, -1);
        band(pen, down, outer, layer.place, layer.place < 0 ? ink : below);
        down = outer;
      }
    }
  }
}

/**
 * The furthest reach of a layer's edge in each pixel column: no short event is lost. NaN in a hole.
 * @param {Layer} layer
 * @param {import("#page/columns.js").Columns} columns
 * @param {1 | -1} way up or down
 */
function reach(layer, { first, end, part }, way) {
  const edge = way > 0 ? layer.up : layer.down;
  const peaks = (layer.peaks[way] ??= new Peaks(edge));
  const out = new Float32Array(first.length);
  for (let x = 0; x < out.length; x++) {
    const at = first[x];
    if (at < 0) out[x] = NaN;
    else if (end[x] - at < 2) {
      out[x] = part[x] > 0 ? edge[at] + part[x] * (edge[at + 1] - edge[at]) : edge[at];
    } else {
      peaks.over(at, end[x]);
      out[x] = way > 0 ? peaks.high : peaks.low;
    }
  }
  return out;
}

/**
 * One layer between its inner and its outer edge; where they are the same, nothing.
 * @param {Pen} pen
 * @param {Float32Array} inner per pixel column
 * @param {Float32Array} outer
 * @param {number} place
 * @param {string} colour
 */
function band(pen, inner, outer, place, colour) {
  const { pixels, ratio } = pen;
  const tile = hatching(colour, place, ratio);
  const { packed } = rgb(colour);
  const hair = 0.5 * Math.max(1, Math.round(ratio / 2));
  let last = NaN; // the outer edge in the column before
  for (let x = 0; x < outer.length; x++) {
    const here = pen.y(outer[x]) * ratio;
    if (outer[x] === inner[x] || Number.isNaN(here)) {
      last = NaN;
      continue;
    }
    const base = pen.y(inner[x]) * ratio;
    pixels.hatch(x, Math.min(base, here), Math.max(base, here), tile);
    const from = Number.isNaN(last) ? base : last;
    last = here;
    if (place < 0) continue; // an outline would make a thick line of what rounding leaves
    pixels.bar(x, Math.min(from, here) - hair, Math.max(from, here) + hair, packed, 1);
  }
}
