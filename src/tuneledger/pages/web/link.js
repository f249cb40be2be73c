/** What is looked at, as the end of the page's address: a reload comes back to it, a link goes there. */

/**
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/store.js").Look} Look
 */

const RESTS = 400; // milliseconds without a change before the address follows
const NUMBERS = /** @type {const} */ (["log", "from", "to", "cursor", "cause", "cell"]);

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
  const { log = 0, from = 0, to = NaN, cause = 0 } = look;
  const whole = Number.isInteger(log) && log in ends && Number.isInteger(cause) && cause < causes;
  if (!whole || !(from >= 0 && from < to && to <= ends[log])) return {};
  return { ...look, frozen: look.cursor !== undefined };
}

/** @param {Store} store */
export function keepLink(store) {
  let waiting = 0;
  store.listen(() => {
    clearTimeout(waiting);
    waiting = setTimeout(() => history.replaceState(history.state, "", written(store.look)), RESTS);
  });
}

/** @param {Look} look */
function written({ log, from, to, cursor, frozen, cause, cell }) {
  const parts = { log, from: round(from, Math.floor), to: round(to, Math.floor), cause };
  const held = frozen && !Number.isNaN(cursor) ? { cursor: round(cursor, Math.round) } : {};
  const all = Object.entries({ ...parts, ...held, ...(cell >= 0 ? { cell } : {}) });
  return `#${all.map(([name, value]) => `${name}=${value}`).join("&")}`;
}

/**
 * @param {number} seconds
 * @param {(value: number) => number} how
 */
function round(seconds, how) {
  return how(seconds * 1e4) / 1e4;
}
