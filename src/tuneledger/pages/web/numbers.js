/** Numbers as people read them: true minus, unit beside the number, nothing shown that is not there. */

const UNITS = /** @type {Record<string, string>} */ ({ degC: "°C", degF: "°F", deg: "°", ratio: "" });

/**
 * `fixed(-4, 1)` is `−4.0`. What rounds to zero has no sign. A half is rounded away from zero, as
 * read to a digit more, as in the sentences.
 * @param {number} value
 * @param {number} places
 */
export function fixed(value, places) {
  const finer = Number(Math.abs(value).toFixed(places + 1));
  const text = (finer + 0.1 ** (places + 3)).toFixed(places);
  return value < 0 && Number(text) !== 0 ? `−${text}` : text;
}

/**
 * `+3.0`, `−4.0`, `0.0`.
 * @param {number} value
 * @param {number} places
 */
export function signed(value, places) {
  const text = fixed(value, places);
  return value > 0 && Number(text) !== 0 ? `+${text}` : text;
}

/** @param {string} unit */
export function unitWords(unit) {
  return Object.hasOwn(UNITS, unit) ? UNITS[unit] : unit;
}

/**
 * A number's text with its unit: `180 kPa`, `−4.0°`.
 * @param {string} text
 * @param {string} unit
 */
export function withUnit(text, unit) {
  const words = unitWords(unit);
  return words === "" || words === "°" ? text + words : `${text} ${words}`;
}

/**
 * A duration: `0.05 s`, `5.5 s`, `38 s`, `12 min 5 s`.
 * @param {number} value
 */
export function duration(value) {
  if (value < 0.095) return `${value.toFixed(2)} s`;
  if (value < 9.95) return `${value.toFixed(1)} s`;
  const whole = Math.round(value);
  if (whole < 120) return `${whole} s`;
  const rest = whole % 60;
  return rest ? `${Math.floor(whole / 60)} min ${rest} s` : `${whole / 60} min`;
}

/**
 * Decimals that tell steps of this size apart.
 * @param {number} step
 */
export function placesOf(step) {
  return Math.max(0, Math.min(6, -Math.floor(Math.log10(step) + 1e-9)));
}
