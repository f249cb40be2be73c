/** What is looked at, as the end of the page's address: a reload comes back to it, a link goes there. */

/**
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/store.js").Look} Look
 */

import { CHOICES } from "#page/units.js";

const RESTS = 400; // milliseconds without a change before the address follows
const NUMBERS = /** @type {const} */ (["log", "from", "to", "cursor", "cause", "cell", "beside", "shift"]);
const WORDS = /** @type {const} */ (["link", "pressure", "temperature"]);

const MAY_BE = {
  link: ["time", "point"],
  pressure: CHOICES["pressure"].map(({ unit }) => unit),
  temperature: CHOICES["temperature"].map(({ unit }) => unit),
};

/**
 * The part of a look that an address holds.
 * @param {string} hash
 * @param {{ ends: number[], causes: number }} bounds
 * @returns {Partial<Look>}
 */
export function readLink(hash, { ends, causes }) {
  const given = new URLSearchParams(hash.replace(/^#/, ""));
  /** @type {Partial<Look>} */
  const look = {};
  for (const name of NUMBERS) {
    const value = Number.parseFloat(given.get(name) ?? "");
    if (Number.isFinite(value)) look[name] = value;
  }
  const { log = 0, cause = 0, beside = -1 } = look;
  const { from = 0, to = ends[log] } = look; // the whole run where no window is told
  const known = log in ends && (beside === -1 || beside in ends);
  if (!given.has("log") || !known || !Number.isInteger(cause) || cause >= causes) return {};
  if (!(from >= 0 && from < to && to <= ends[log])) return {};
  const strips = given.get("strips") ?? "";
  if (/^\d+(\.\d+)*$/.test(strips)) look.strips = strips;
  for (const name of WORDS) {
    const word = given.get(name) ?? "";
    if (MAY_BE[name].includes(word)) look[name] = word;
  }
  return { ...look, from, to, frozen: look.cursor !== undefined };
}

/** @param {Store} store */
export function keepLink(store) {
  let waiting = 0;
  store.listen(() => {
    clearTimeout(waiting);
    waiting = setTimeout(() => history.replaceState(history.state, "", written(store)), RESTS);
  });
}

/** @param {Store} store */
function written({ look, whole }) {
  const { log, from, to, cursor, frozen, cause, cell, beside, shift, link, strips } = look;
  const window = { from: round(from, Math.floor), to: round(to, Math.floor) };
  const parts = { log, ...(whole ? {} : window), cause };
  const held = frozen && !Number.isNaN(cursor) ? { cursor: round(cursor, Math.round) } : {};
  const moved = shift ? { shift: round(shift, Math.round) } : {};
  const chosen = { ...(cell >= 0 ? { cell } : {}), ...(beside >= 0 ? { beside, link, ...moved } : {}) };
  const units = WORDS.slice(1).filter((name) => look[name]).map((name) => [name, look[name]]);
  const brought = strips ? { strips } : {};
  const all = [...Object.entries({ ...parts, ...held, ...chosen, ...brought }), ...units];
  return `#${all.map(([name, value]) => `${name}=${value}`).join("&")}`;
}

/**
 * @param {number} seconds
 * @param {(value: number) => number} how
 */
function round(seconds, how) {
  return how(seconds * 1e4) / 1e4;
}
