/** The windows of the episodes: shaded over every strip, numbered on the time axis. */

import { fixed, placesOf } from "#page/numbers.js";
import { groundRow } from "#page/pixels.js";
import { ticks } from "#page/scale.js";

/**
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
 * The paper of a strip before anything is drawn on it, as a row of pixels: the windows shaded, and
 * where it is ruled, the times at round numbers. All strips lie over the same.
 * @param {import("#page/row.js").Paper} paper
 * @param {Window[]} windows
 * @param {boolean} ruled
 */
export function ground({ width, ratio, look, ink }, windows, ruled) {
  const perSecond = (width * ratio) / (look.to - look.from);
  const shaded = windows.map(({ from, to, chosen }) => {
    const left = (from - look.from) * perSecond;
    const right = Math.max((to - look.from) * perSecond, left + ratio);
    return { left, right, colour: chosen ? ink.chosen : ink.wash };
  });
  const hair = Math.max(1, Math.round(ratio));
  const { at } = ticks({ low: look.from, high: look.to }, width / 90);
  const lines = (ruled ? at : []).map((time) => {
    const left = Math.round((time - look.from) * perSecond);
    return { left, right: left + hair, colour: ink.grid };
  });
  return groundRow(Math.round(width * ratio), ink.paper, [...shaded, ...lines]);
}

/**
 * Time in seconds, and the episodes by number and sign.
 * @param {CanvasRenderingContext2D} c
 * @param {import("#page/row.js").Paper} paper
 * @param {Window[]} windows
 */
export function drawAxis(c, paper, windows) {
  const { ink, width, look } = paper;
  const { step, at } = ticks({ low: look.from, high: look.to }, width / 90);
  c.font = ink.font;
  c.textBaseline = "alphabetic";
  c.fillStyle = ink.soft;
  const places = placesOf(step);
  for (const t of at) {
    const x = ((t - look.from) * width) / (look.to - look.from);
    c.textAlign = x < 20 ? "left" : x > width - 20 ? "right" : "center";
    c.fillText(`${fixed(t, places)} s`, x, 11);
  }
  c.textAlign = "center";
  for (const w of windows) drawWindow(c, paper, w);
}

/**
 * @param {CanvasRenderingContext2D} c
 * @param {import("#page/row.js").Paper} paper
 * @param {Window} window
 */
function drawWindow(c, { width, look, ink }, { number, from, to, sign, chosen }) {
  const height = AXIS_HEIGHT;
  const [start, end] = [from, to].map((t) => ((t - look.from) * width) / (look.to - look.from));
  const left = Math.max(0, start);
  const right = Math.min(width, Math.max(end, start + 2));
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
