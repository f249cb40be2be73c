/** One cell of the map: what the main map asks for, and in front of it what is to be seen there. */

import { button, el } from "#page/dom.js";
import { duration, fixed, signed } from "#page/numbers.js";

/**
 * @typedef {import("#page/visits.js").Cell} Cell
 *
 * @typedef {object} Place
 * @property {number | null} asked by the map, in degrees; null: not known
 * @property {string} name         the cell's point on both axes
 * @property {Cell} visited
 * @property {() => void} choose
 */

export const LEAST_APART = 0.05; // degrees; below it nothing is to be seen of it

/**
 * What the visits of a cell come to, in words.
 * @param {Cell} cell
 */
export function account({ mean, seconds, visits }) {
  if (!visits.length) return "not driven";
  const times = visits.length === 1 ? "1 visit" : `${visits.length} visits`;
  const apart = Number.isNaN(mean) ? "no difference known" : `mean difference ${signed(mean, 2)}°`;
  return `${apart}, ${duration(seconds)} in ${times}`;
}

/**
 * A cell by what another map, or another log, says there.
 * @param {Place} place
 * @param {number | null} apart degrees
 * @param {number} largest of the whole map, for the shade
 */
export function apartCell(place, apart, largest) {
  const box = empty(place);
  const known = apart !== null;
  const same = known && Math.abs(apart) < LEAST_APART;
  const words = !known ? "" : same ? "0" : signed(apart, 1);
  const says = !known ? "not known" : same ? "the same" : `${signed(apart, 2)}°`;
  const choose = chooser(place, `${says}; ${account(place.visited)}`);
  const { seconds } = place.visited;
  const driven = seconds ? duration(seconds) : same || !known ? "" : "not driven";
  choose.append(el("b", {}, words), el("small", {}, driven));
  box.append(choose);
  box.classList.toggle("same", same);
  tint(box, known ? apart : 0, largest, LEAST_APART);
  return box;
}

/**
 * A cell by its visits.
 * @param {Place} place
 * @param {number} largest mean difference on the map
 * @param {number} longest time in a cell
 * @param {number} tolerance degrees beyond which a difference counts
 */
export function visitedCell(place, largest, longest, tolerance) {
  const { mean, seconds, visits } = place.visited;
  const box = empty(place);
  if (!visits.length) return box;
  const shown = Number.isNaN(mean) ? "—" : signed(mean, 1);
  const stay = el("i", { class: "stay" });
  stay.style.width = `${Math.max(4, 100 * Math.sqrt(seconds / longest))}%`;
  const choose = chooser(place, account(place.visited));
  choose.append(el("b", {}, shown), el("small", {}, duration(seconds)), stay);
  box.append(choose);
  tint(box, mean, largest, tolerance);
  return box;
}

/** @param {Place} place */
function empty({ asked }) {
  return el("td", {}, el("span", { class: "asked" }, asked === null ? "" : fixed(asked, 1)));
}

/**
 * @param {Place} place
 * @param {string} says
 */
function chooser({ name, choose }, says) {
  return button("", choose, { "aria-pressed": "false", "aria-label": `${name}: ${says}` });
}

/**
 * @param {HTMLElement} box
 * @param {number} value
 * @param {number} largest
 * @param {number} least below which it counts as no difference
 */
function tint(box, value, largest, least) {
  box.classList.add(value > 0 ? "adds" : "takes");
  if (!(Math.abs(value) > least)) box.classList.add("agrees");
  const share = Math.min(1, Math.abs(value || 0) / largest);
  box.style.setProperty("--shade", share.toFixed(3));
}
