/** The kinds of strips: what each draws, and what it reads at the cursor. */

import { fillBetween } from "#page/between.js";
import { rgb } from "#page/ink.js";
import { fixed, signed, withUnit } from "#page/numbers.js";
import { roundRange } from "#page/scale.js";
import { drawThreshold, inUnit, spell } from "#page/thresholds.js";
import { shownChannel, turn } from "#page/units.js";

/**
 * @typedef {import("#page/pen.js").Pen} Pen
 * @typedef {import("#page/account.js").Account} Account
 * @typedef {import("#page/account.js").Channel} Channel
 * @typedef {import("#page/types.js").LineData} LineData
 * @typedef {import("#page/series.js").Series} Series
 * @typedef {import("#page/units.js").Chosen} Chosen
 *
 * @typedef {{ text: string, value: number }} Reading `value` is where the mark goes; NaN: nowhere
 *
 * @typedef {object} Strip
 * @property {"balance" | "entries" | "channel"} kind
 * @property {string} name
 * @property {string} unit
 * @property {string} why    what it is here for, in a word or two
 * @property {number} height of its paper, in CSS pixels
 * @property {(pen: Pen) => void} draw
 * @property {(time: number) => Reading[]} read
 */

const NOTHING = "no sample";
export const BROAD = { width: 6, alpha: 0.3 }; // what is rehearsed: a broad pencil

/**
 * Scheduled against delivered, fitted to what the window shows.
 * @param {Account} account
 * @returns {Strip}
 */
export function balanceStrip(account) {
  const { scheduledSeries, deliveredSeries, rehearsedSeries, decimals } = account;
  const drawn = [scheduledSeries, deliveredSeries, ...(rehearsedSeries ? [rehearsedSeries] : [])];
  return {
    kind: "balance",
    name: "Spark advance",
    unit: "deg",
    why: "",
    height: 176,
    draw(pen) {
      const ranges = drawn.map((s) => {
        s.peaks.over(...s.within(pen.from, pen.to));
        return { low: s.peaks.low, high: s.peaks.high };
      });
      const low = Math.min(...ranges.map((r) => r.low).filter(Number.isFinite));
      const high = Math.max(...ranges.map((r) => r.high).filter(Number.isFinite));
      const some = Number.isFinite(low) && Number.isFinite(high);
      const middle = some ? (low + high) / 2 : 10;
      const half = some ? Math.max((high - low) / 2, 3) * 1.06 : 10;
      pen.over(roundRange({ low: middle - half, high: middle + half }, 8));
      pen.rule(5);
      fillBetween(pen, account);
      if (rehearsedSeries) pen.stroke(rehearsedSeries, BROAD.width, { alpha: BROAD.alpha });
      pen.stroke(scheduledSeries, 1.2, { dashes: [5, 3] });
      pen.stroke(deliveredSeries, 1.9);
      pen.figures(5, (v, places) => `${fixed(v, places)}°`);
    },
    read(time) {
      return drawn.map((series) => {
        const value = series.values[series.indexAt(time)] ?? NaN;
        return { value, text: Number.isNaN(value) ? "—" : `${fixed(value, decimals)}°` };
      });
    },
  };
}

/**
 * A strip of another log, whose time is so far ahead of this one's.
 * @param {Strip} strip
 * @param {number} shift seconds
 * @param {string} file
 * @returns {Strip}
 */
export function shiftedStrip(strip, shift, file) {
  return {
    ...strip,
    why: shift ? `${file}, ${signed(shift, (String(shift).split(".")[1] ?? "").length)} s` : file,
    draw(pen) {
      pen.from += shift;
      pen.to += shift;
      strip.draw(pen);
    },
    read: (time) => strip.read(time + shift),
  };
}

/**
 * The entries, stacked.
 * @param {Account} account
 * @returns {Strip}
 */
export function entriesStrip(account) {
  const { low, high } = account.stack;
  const range = roundRange({ low: Math.min(low, -1) * 1.04, high: Math.max(high, 1) * 1.04 }, 6);
  return {
    kind: "entries",
    name: "Entries",
    unit: "deg",
    why: "what each correction added or took",
    height: 124,
    draw(pen) {
      pen.over(range);
      pen.rule(4);
      account.stack.draw(pen);
      pen.across(0, rgb(pen.ink.ink).packed);
      pen.figures(4, (v, places) => `${signed(v, places)}°`);
    },
    read(time) {
      const value = account.difference[Number.isNaN(time) ? -1 : account.rowAt(time)] ?? NaN;
      return [{ value: NaN, text: Number.isNaN(value) ? "—" : `${signed(value, account.decimals)}°` }];
    },
  };
}

/**
 * One channel with its thresholds; where a condition holds, its line is drawn heavier.
 * @param {Channel} logged as the file has it
 * @param {LineData[]} thresholds in the file's unit
 * @param {string} why
 * @param {Chosen} chosen units
 * @returns {Strip}
 */
export function channelStrip(logged, thresholds, why, chosen) {
  const channel = shownChannel(logged, chosen);
  const { series, unit, decimals } = channel;
  const lines = thresholds.map((line) => inUnit(line, turn(logged.scale, chosen), unit));
  const isSwitch = series.step && series.low >= 0 && series.high <= 1;
  const parts = isSwitch ? 1 : 4;
  const spelled = (/** @type {number} */ value) =>
    isSwitch ? (value < 0.5 ? "off" : "on") : withUnit(fixed(value, decimals), unit);
  return {
    kind: "channel",
    name: channel.name,
    unit,
    why,
    height: isSwitch ? 40 : lines.length > 2 ? 104 : lines.length ? 84 : 62,
    draw(pen) {
      pen.over(channelRange(series, lines));
      pen.rule(parts);
      pen.stroke(series, lines.length ? 1.2 : 1.4);
      const labels = /** @type {import("#page/thresholds.js").Label[]} */ ([]);
      for (const threshold of lines) {
        const { low, high } = pen.range;
        if (threshold.at < low || threshold.at > high) continue; // too far off to be seen
        labels.push(drawThreshold(pen, series, threshold));
      }
      spell(pen, labels, pen.figures(parts)); // over the thresholds' lines too
    },
    read(time) {
      const value = series.values[series.indexAt(time)] ?? NaN;
      const text = Number.isNaN(value) ? NOTHING : spelled(value);
      return [{ value, text }];
    },
  };
}

/**
 * @param {Series} series
 * @param {LineData[]} lines
 */
function channelRange(series, lines) {
  const some = Number.isFinite(series.low);
  let [low, high] = some ? [series.low, series.high] : [0, 1];
  for (const { at } of lines) {
    const far = Math.max(high - low, 1e-9); // a threshold far outside would flatten the line
    if (at < low && low - at < far) low = at;
    if (at > high && at - high < far) high = at;
  }
  const pad = (high - low) * 0.06;
  return high > low ? { low: low - pad, high: high + pad } : roundRange({ low, high }, 4);
}
