/** The sides of the map in words and in the units that a reader chose. */

import { fixed, placesOf, withUnit } from "#page/numbers.js";
import { turn } from "#page/units.js";

/** @typedef {import("#page/types.js").AxisData} AxisData */

/**
 * @param {AxisData} axis
 * @param {import("#page/units.js").Chosen} chosen
 * @returns {AxisData}
 */
export function shownAxis(axis, chosen) {
  const how = turn(axis.scale, chosen);
  return how ? { ...axis, unit: how.unit, at: axis.at.map(how.value) } : axis;
}

/** @param {AxisData} axis */
export function title({ name, unit }) {
  return unit ? `${name}, ${withUnit("", unit).trim()}` : name;
}

/**
 * @param {AxisData} axis
 * @param {number} value
 */
export function spell({ at }, value) {
  const steps = at.slice(1).map((v, i) => v - at[i]);
  const whole = at.every(Number.isInteger);
  return fixed(value, whole ? 0 : placesOf(Math.min(10, ...steps) / 10));
}

/**
 * @param {AxisData} axis
 * @param {number} value
 */
export function spelled(axis, value) {
  return withUnit(spell(axis, value), axis.unit);
}
