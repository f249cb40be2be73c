/** Linear scales and the round numbers that stand on them. */

/** @typedef {{ low: number, high: number }} Range */

const ROUND = [1, 2, 5, 10];

/**
 * The round step (1, 2 or 5 times a power of ten) that gives at most `most` parts.
 * @param {number} span
 * @param {number} most
 */
export function roundStep(span, most) {
  const rough = span / Math.max(1, most);
  const power = 10 ** Math.floor(Math.log10(rough));
  return (ROUND.find((r) => r * power >= rough * (1 - 1e-9)) ?? 10) * power;
}

/**
 * Round numbers within a range.
 * @param {Range} range
 * @param {number} most
 * @returns {{ step: number, at: number[] }}
 */
export function ticks({ low, high }, most) {
  const step = roundStep(high - low, most);
  const at = [];
  for (let i = Math.ceil(low / step - 1e-9); i * step <= high + step * 1e-9; i++) at.push(i * step);
  return { step, at };
}

/**
 * A range widened to round numbers, never empty.
 * @param {Range} range
 * @param {number} parts
 * @returns {Range}
 */
export function roundRange({ low, high }, parts) {
  if (!(high > low)) {
    const pad = Math.abs(low) > 1 ? Math.abs(low) * 0.1 : 1;
    [low, high] = [low - pad, high + pad];
  }
  const step = roundStep(high - low, parts);
  return { low: Math.floor(low / step + 1e-9) * step, high: Math.ceil(high / step - 1e-9) * step };
}

/**
 * @param {number} value
 * @param {number} low
 * @param {number} high
 */
export function clamp(value, low, high) {
  return value < low ? low : value > high ? high : value;
}
