/** The visits of a chosen cell, the longest of them, each of which leads into the run. */

import { account } from "#page/cell.js";
import { button, el } from "#page/dom.js";
import { duration, fixed, signed } from "#page/numbers.js";

/**
 * @typedef {import("#page/account.js").Log} Log
 * @typedef {import("#page/choose.js").Chooser} Chooser
 * @typedef {import("#page/visits.js").Cell} Cell
 * @typedef {import("#page/visits.js").Visit} Visit
 */

const LISTED = 40; // visits of one cell

export const NOTHING_CHOSEN = "Choose a cell to list its visits and to go to them.";

/**
 * @param {Cell} cell
 * @param {string} name of the cell: its point on both axes
 * @param {Log[]} logs
 * @param {Chooser} chooser
 * @returns {Node[]}
 */
export function listOfVisits(cell, name, logs, chooser) {
  const { visits } = cell;
  const longest = [...visits].sort((a, b) => b.seconds - a.seconds).slice(0, LISTED);
  const listed = longest.sort((a, b) => a.log - b.log || a.from - b.from);
  return [
    el("h3", {}, name),
    el("p", {}, `${capital(account(cell))}.`),
    el("ul", {}, ...listed.map((visit) => el("li", {}, link(visit, logs, chooser)))),
    ...(visits.length > LISTED
      ? [el("p", {}, `The longest ${LISTED} of ${visits.length} visits.`)]
      : []),
  ];
}

/**
 * @param {Visit} visit
 * @param {Log[]} logs
 * @param {Chooser} chooser
 */
function link({ log, from, to, seconds, mean }, logs, chooser) {
  const file = logs.length > 1 ? `${logs[log].file}, ` : "";
  const apart = Number.isNaN(mean) ? "not known" : `${signed(mean, 2)}°`;
  const go = button("", () => chooser.stretch(log, from, to), { class: "visit" });
  go.append(
    el("span", {}, `${file}${fixed(from, 2)} to ${fixed(to, 2)} s`),
    el("span", {}, duration(seconds)),
    el("b", {}, apart),
  );
  return go;
}

/** @param {string} text */
function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
