/**
 * Words on the paper of a strip, with a rim of paper so that they are readable over lines. A rim is
 * dear to draw and the same numbers come again with every turn of the wheel: each is drawn once.
 */

import { pixelsOf } from "#page/ink.js";

/**
 * @typedef {{ tile: import("#page/pixels.js").Tile, width: number, base: number }} Written
 *   sizes in CSS pixels; `base`: from the top of the tile to the middle of the letters
 */

const RIM = 3.5;
const GROUND = 0.7; // of the paper under the letters, so that a line is not read as a stroke of them
const AIR = 3; // around the letters, CSS pixels
const HIGH = 14; // of a line at 11 px
const MOST = 600; // words that are kept

/** @type {Map<string, Written>} */
const kept = new Map();

/**
 * @param {string} text
 * @param {{ font: string, paper: string }} ink
 * @param {string} colour
 * @param {number} ratio device pixels per CSS pixel
 * @returns {Written}
 */
function written(text, { font, paper }, colour, ratio) {
  const key = [text, font, paper, colour, ratio].join("\u0000");
  const known = kept.get(key);
  if (known) return known;
  if (kept.size >= MOST) kept.clear();
  const canvas = document.createElement("canvas");
  const c = /** @type {CanvasRenderingContext2D} */ (
    canvas.getContext("2d", { willReadFrequently: true })
  );
  c.font = font;
  const width = Math.ceil(c.measureText(text).width) + 2 * AIR;
  const height = HIGH + 2 * AIR;
  canvas.width = Math.ceil(width * ratio);
  canvas.height = Math.ceil(height * ratio);
  c.scale(ratio, ratio);
  c.font = font;
  c.textBaseline = "middle";
  c.fillStyle = paper;
  c.globalAlpha = GROUND;
  c.fillRect(AIR - 1, AIR + 1, width - 2 * AIR + 2, HIGH - 2);
  c.globalAlpha = 1;
  c.lineJoin = "round";
  c.lineWidth = RIM;
  c.strokeStyle = paper;
  c.strokeText(text, AIR, height / 2);
  c.fillStyle = colour;
  c.fillText(text, AIR, height / 2);
  const made = { tile: pixelsOf(canvas), width, base: height / 2 };
  kept.set(key, made);
  return made;
}

/**
 * How broad words are, CSS pixels.
 * @param {import("#page/pen.js").Pen} pen
 * @param {string} text
 * @param {string} colour
 */
export function breadth({ ink, ratio }, text, colour) {
  return written(text, ink, colour, ratio).width - 2 * AIR;
}

/**
 * Write words with their left end at `x` and their middle at `y`.
 * @param {import("#page/pen.js").Pen} pen
 * @param {string} text
 * @param {number} x
 * @param {number} y
 * @param {string} colour
 */
export function write({ pixels, ink, ratio }, text, x, y, colour) {
  const { tile, base } = written(text, ink, colour, ratio);
  pixels.press(tile, Math.round((x - AIR) * ratio), Math.round((y - base) * ratio));
}
