/** The entries stacked from zero: what was added above it, what was taken below it. */

import { filling } from "#page/ink.js";
import { extremes, lowerBound } from "#page/series.js";

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
 *
 * @typedef {object} Points where to draw: a row, or a pixel column with several
 * @property {Float64Array} x
 * @property {Int32Array} first index of the first judged row; one more than there are points
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
      return { place, up: up.slice(), down: down.slice(), adds, takes };
    });
    /** The furthest points of the whole stack. */
    this.high = Math.max(0, extremes(up)[1] || 0);
    this.low = Math.min(0, extremes(down)[0] || 0);
  }

  /** @param {Pen} pen */
  draw(pen) {
    const { above, below, ink } = pen.ink;
    for (const points of pieces(pen, this.account)) {
      let up = new Float32Array(points.x.length);
      let down = new Float32Array(points.x.length);
      for (const layer of this.layers) {
        if (layer.adds) {
          const outer = reach(layer.up, points, 1);
          band(pen, points.x, up, outer, layer.place, layer.place < 0 ? ink : above);
          up = outer;
        }
        if (layer.takes) {
          const outer = reach(layer.down, points, -1);
          band(pen, points.x, down, outer, layer.place, layer.place < 0 ? ink : below);
          down = outer;
        }
      }
    }
  }
}

/**
 * The furthest reach of an edge at each point: no short event is lost.
 * @param {Float32Array} edge
 * @param {Points} points
 * @param {1 | -1} way up or down
 */
function reach(edge, { x, first }, way) {
  const out = new Float32Array(x.length);
  for (let p = 0; p < out.length; p++) {
    let most = edge[first[p]];
    for (let i = first[p] + 1; i < first[p + 1]; i++) {
      if (way > 0 ? edge[i] > most : edge[i] < most) most = edge[i];
    }
    out[p] = most;
  }
  return out;
}

/**
 * One layer between its inner and its outer edge; where they are the same, nothing.
 * @param {Pen} pen
 * @param {Float64Array} x
 * @param {Float32Array} inner
 * @param {Float32Array} outer
 * @param {number} place
 * @param {string} colour
 */
function band(pen, x, inner, outer, place, colour) {
  const surface = new Path2D();
  const edge = new Path2D();
  for (let start = 0; start < x.length; start++) {
    if (outer[start] === inner[start]) continue;
    let end = start;
    while (end + 1 < x.length && outer[end + 1] !== inner[end + 1]) end++;
    const from = Math.max(0, start - 1);
    const to = Math.min(x.length - 1, end + 1);
    surface.moveTo(x[from], pen.y(inner[from]));
    edge.moveTo(x[from], pen.y(outer[from]));
    for (let i = from; i <= to; i++) {
      const y = pen.y(outer[i]);
      surface.lineTo(x[i], y);
      edge.lineTo(x[i], y);
    }
    for (let i = to; i > from; i--) surface.lineTo(x[i], pen.y(inner[i]));
    surface.closePath();
    start = end;
  }
  const { c } = pen;
  c.fillStyle = filling(c, colour, place, pen.ratio);
  c.fill(surface);
  if (place < 0) return; // an outline would make a thick line of what rounding leaves
  c.strokeStyle = colour;
  c.lineWidth = 1 / pen.ratio; // a hair: next to nothing for the browser
  c.lineJoin = "bevel";
  c.stroke(edge);
}

/**
 * Points to draw, per stretch without a hole: every row, or where rows are crowded, pixel columns.
 * @param {Pen} pen
 * @param {Account} account
 * @returns {Points[]}
 */
function pieces(pen, { rowTimes, gap }) {
  const start = Math.max(0, lowerBound(rowTimes, pen.from) - 1);
  const end = Math.min(rowTimes.length, lowerBound(rowTimes, pen.to) + 2);
  const perColumn = pen.ratio * pen.perSecond;
  const crowded = end - start > pen.width * pen.ratio;
  /** @type {Points[]} */
  const out = [];
  let i = start;
  while (i < end) {
    const x = [];
    const first = [];
    let open = false;
    while (i < end && !open) {
      const column = Math.floor((rowTimes[i] - pen.from) * perColumn);
      const border = crowded ? pen.from + (column + 1) / perColumn : rowTimes[i];
      x.push(crowded ? (column + 0.5) / pen.ratio : pen.x(rowTimes[i]));
      first.push(i);
      do {
        i++;
        open = i < end && rowTimes[i] - rowTimes[i - 1] > gap;
      } while (i < end && !open && rowTimes[i] < border);
    }
    first.push(i);
    out.push({ x: Float64Array.from(x), first: Int32Array.from(first) });
  }
  return out;
}
