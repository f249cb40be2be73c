/** The windows of the episodes: shaded over every strip, numbered on the time axis. */

import { fixed, placesOf } from "#page/numbers.js";
import { ticks } from "#page/scale.js";

/**
 * @typedef {import("#page/pen.js").Pen} Pen
 * @typedef {import("#page/types.js").EpisodeData} EpisodeData
 * @typedef {{ number: number, from: number, to: number, sign: number, chosen: boolean }} Window
 */

export const AXIS_HEIGHT = 38;

/**
 * The windows of one log; those of the chosen cause last, so that they lie on top.
 * @param {EpisodeData[]} episodes
 * @param {number} log
 * @param {number[]} ofCause
 * @returns {Window[]}
 */
export function windowsOf(episodes, log, ofCause) {
  const all = episodes.map((e, i) => ({
    number: i + 1,
    log: e.log,
    from: e.start_s,
    to: e.end_s,
    sign: e.sign,
    chosen: ofCause.includes(i),
  }));
  const here = all.filter((w) => w.log === log);
  return here.sort((a, b) => Number(a.chosen) - Number(b.chosen));
}

/**
 * The windows shaded, as a picture one pixel high: all strips lie over the same ones.
 * @param {import("#page/row.js").Paper} paper
 * @param {Window[]} windows
 */
export function shading({ width, ratio, look, ink }, windows) {
  const image = new OffscreenCanvas(Math.max(1, Math.round(width * ratio)), 1);
  const c = /** @type {OffscreenCanvasRenderingContext2D} */ (image.getContext("2d"));
  const perSecond = image.width / (look.to - look.from);
  for (const { from, to, chosen } of windows) {
    const left = (from - look.from) * perSecond;
    const right = Math.max((to - look.from) * perSecond, left + ratio);
    if (right < 0 || left > image.width) continue;
    c.fillStyle = chosen ? ink.chosen : ink.wash;
    c.fillRect(left, 0, right - left, 1);
  }
  return image;
}

/**
 * Lay the shaded windows over all of a strip's paper.
 * @param {Pen} pen
 * @param {OffscreenCanvas} image
 */
export function shade({ c, width, height }, image) {
  c.imageSmoothingEnabled = false;
  c.drawImage(image, 0, 0, width, height);
  c.imageSmoothingEnabled = true;
}

/**
 * Time in seconds, and the episodes by number and sign.
 * @param {Pen} pen
 * @param {Window[]} windows
 */
export function drawAxis(pen, windows) {
  const { c, ink, width, height } = pen;
  const { step, at } = ticks({ low: pen.from, high: pen.to }, width / 90);
  c.font = ink.font;
  c.textBaseline = "alphabetic";
  c.fillStyle = ink.soft;
  const places = placesOf(step);
  for (const t of at) {
    const x = pen.x(t);
    c.textAlign = x < 20 ? "left" : x > width - 20 ? "right" : "center";
    c.fillText(`${fixed(t, places)} s`, x, 11);
  }
  c.textAlign = "center";
  for (const w of windows) drawWindow(pen, w, height);
}

/**
 * @param {Pen} pen
 * @param {Window} window
 * @param {number} height
 */
function drawWindow(pen, { number, from, to, sign, chosen }, height) {
  const { c, ink, width } = pen;
  const left = Math.max(0, pen.x(from));
  const right = Math.min(width, Math.max(pen.x(to), pen.x(from) + 2));
  if (right <= 0 || left >= width) return;
  c.fillStyle = chosen ? ink.chosen : ink.wash;
  c.fillRect(left, 17, right - left, height - 17);
  c.fillStyle = sign > 0 ? ink.above : sign < 0 ? ink.below : ink.soft;
  c.fillRect(left, 17, right - left, chosen ? 3 : 1.5);
  const mark = sign > 0 ? " +" : sign < 0 ? " −" : "";
  const text = `${number}${mark}`;
  if (right - left < c.measureText(text).width + 4) return;
  c.fillStyle = chosen ? ink.ink : ink.soft;
  c.fillText(text, (left + right) / 2, height - 6);
}
