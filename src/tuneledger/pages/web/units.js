/** Units that a reader may choose for the whole page: pressures and temperatures. */

import { fixed, placesOf, withUnit } from "#page/numbers.js";
import { Series } from "#page/series.js";

/**
 * @typedef {import("#page/types.js").ScaleData} ScaleData
 * @typedef {import("#page/account.js").Channel} Channel
 * @typedef {{ unit: string, factor: number, offset: number }} Choice base = factor · number + offset
 * @typedef {{ pressure: string, temperature: string }} Chosen a unit each, "" for the log's own
 */

/** The same factors as the table of units has; a test holds the two equal. */
export const CHOICES = /** @type {Record<string, Choice[]>} */ ({
  pressure: [
    { unit: "kPa", factor: 1, offset: 0 },
    { unit: "bar", factor: 100, offset: 0 },
    { unit: "psi", factor: 6.894757, offset: 0 },
  ],
  temperature: [
    { unit: "degC", factor: 1, offset: 0 },
    { unit: "degF", factor: 5 / 9, offset: -160 / 9 },
  ],
});

/**
 * @typedef {object} Turn from a number as the file has it to the one that is shown
 * @property {string} unit
 * @property {(value: number) => number} value
 * @property {(decimals: number) => number} decimals so many that the file's own steps stay apart
 */

/**
 * How numbers of a scale are shown in the chosen unit; null where they are shown as they are.
 * @param {ScaleData | null} scale
 * @param {Chosen} chosen
 * @returns {Turn | null}
 */
export function turn(scale, chosen) {
  if (!scale) return null;
  const wanted = scale.kind === "pressure" ? chosen.pressure : chosen.temperature;
  const to = CHOICES[scale.kind]?.find(({ unit }) => unit === wanted);
  if (!to || (to.factor === scale.factor && to.offset === scale.offset)) return null;
  const ratio = scale.factor / to.factor;
  return {
    unit: to.unit + (scale.gauge ? " gauge" : ""),
    value: (value) => (scale.factor * value + scale.offset - to.offset) / to.factor,
    decimals: (decimals) => placesOf(10 ** -decimals * ratio * 1.0001),
  };
}

/** @type {WeakMap<Series, { unit: string, series: Series }>} */
const turned = new WeakMap();

/**
 * A channel in the chosen units.
 * @param {Channel} channel
 * @param {Chosen} chosen
 * @returns {Channel}
 */
export function shownChannel(channel, chosen) {
  const how = turn(channel.scale, chosen);
  if (!how) return channel;
  const { series } = channel;
  let known = turned.get(series);
  if (known?.unit !== how.unit) {
    const values = series.values.map(how.value);
    known = { unit: how.unit, series: new Series(series.times, values, series) };
    turned.set(series, known);
  }
  const decimals = how.decimals(channel.decimals);
  return { ...channel, unit: how.unit, decimals, series: known.series };
}

/**
 * A number with at most four digits that count, and its unit: `55 %`, `6.09 bar`.
 * @param {number} value
 * @param {string} unit
 */
export function quantity(value, unit) {
  const size = Math.abs(value) || 1;
  const places = Math.max(0, Math.min(6, 3 - Math.floor(Math.log10(size))));
  const text = fixed(value, places);
  return withUnit(text.includes(".") ? text.replace(/\.?0+$/, "") : text, unit);
}
