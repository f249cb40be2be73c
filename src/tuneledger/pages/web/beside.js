/** Another log beside this one: at the same time, or at the same operating point of the map. */

import { el, put } from "#page/dom.js";
import { duration, fixed } from "#page/numbers.js";
import { acts, degrees, field, write } from "#page/slip.js";

/**
 * @typedef {import("#page/account.js").Log} Log
 * @typedef {import("#page/account.js").Account} Account
 * @typedef {import("#page/account.js").Line} Line
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/slip.js").Field} Field
 *
 * @typedef {object} Mean the account of a log in one cell of the map, on average
 * @property {number} seconds in which it can be judged
 * @property {number} scheduled
 * @property {number[]} entries
 * @property {number} delivered
 * @property {number} unaccounted
 */

/**
 * The mean account of a log in a cell, over the rows that can be judged; null where there is none.
 * @param {Account} account
 * @param {number} cell
 * @returns {Mean | null}
 */
export function meanIn(account, cell) {
  const { cells, rows } = account;
  if (!cells || cell < 0) return null;
  const here = rows.filter((row) => cells[row] === cell);
  if (!here.length) return null;
  const mean = (/** @type {Float64Array} */ values) =>
    here.reduce((sum, row) => sum + values[row], 0) / here.length;
  const raster = (account.rowTimes[rows.length - 1] - account.rowTimes[0]) / Math.max(1, rows.length - 1);
  return {
    seconds: here.length * raster,
    scheduled: mean(account.scheduled),
    entries: account.entries.map(({ values }) => mean(values)),
    delivered: mean(account.delivered),
    unaccounted: mean(account.unaccounted),
  };
}

/** A second slip: the other log's account. */
export class Beside {
  /**
   * @param {HTMLElement} root
   * @param {Store} store
   * @param {Log[]} logs
   * @param {(cell: number) => string} place a cell of the map in words
   */
  constructor(root, store, logs, place) {
    this.root = root;
    this.store = store;
    this.logs = logs;
    this.place = place;
    /** @type {Map<string, Mean | null>} */
    this.means = new Map();
    this.build();
    store.listen((_, changed) => {
      if (changed.has("beside") || changed.has("link") || changed.has("log")) this.build();
      else if (changed.has("cursor") || changed.has("shift")) this.show();
    });
  }

  /** The other log's account; null where none stands beside. */
  get account() {
    const { beside, log } = this.store.look;
    return beside === log ? null : (this.logs[beside]?.account ?? null);
  }

  build() {
    const { account } = this;
    this.root.hidden = !account;
    if (!account) return;
    this.acting = account.entries.map((_, i) => i).filter((i) => acts(account.entries[i].values));
    this.when = el("b", { class: "when" });
    this.where = el("small", { class: "where" });
    this.scheduled = field("scheduled", account.sources[0]);
    this.entries = this.acting.map((i) => field(account.entries[i].title, account.entries[i].basis));
    this.delivered = field("delivered", account.sources[1]);
    this.unaccounted = field("unaccounted", "");
    for (const { box } of this.entries) box.classList.add("entry");
    this.delivered.box.classList.add("total");
    const fields = [this.scheduled, ...this.entries, this.delivered, this.unaccounted];
    this.root.replaceChildren(
      el("div", { class: "slip-when" }, this.when, this.where),
      el("div", { class: "slip-line" }, ...fields.map(({ box }) => box)),
    );
    this.show();
  }

  show() {
    const { account, when, where } = this;
    if (!account || !when || !where) return;
    const { look } = this.store;
    const log = this.logs[look.beside];
    put(when, log.file);
    const found = look.link === "point" ? this.#atPoint(account) : this.#atTime(account, log);
    put(where, found.words);
    const places = account.decimals;
    const { line } = found;
    const told = (/** @type {Field | undefined} */ to, /** @type {number} */ value, /** @type {boolean} */ sign) => {
      if (to) write(to, value, Number.isNaN(value) ? "—" : degrees(value, places, sign, "—"));
    };
    told(this.scheduled, line?.scheduled ?? NaN, false);
    this.acting?.forEach((index, i) => told(this.entries?.[i], line?.entries[index] ?? NaN, true));
    told(this.delivered, line?.delivered ?? NaN, false);
    told(this.unaccounted, line?.unaccounted ?? NaN, true);
  }

  /**
   * @param {Account} account
   * @param {Log} log
   * @returns {{ words: string, line: Line | null }}
   */
  #atTime(account, log) {
    const { cursor, shift } = this.store.look;
    if (Number.isNaN(cursor)) return { words: "at the same time", line: null };
    const time = cursor + shift;
    if (time > log.end) return { words: "it has ended by then", line: null };
    if (time < 0) return { words: "it has not begun by then", line: null };
    const line = account.line(account.rowAt(time));
    return { words: `${fixed(line.time, log.timePlaces)} s, ${line.void ? "no spark" : line.regime}`, line };
  }

  /**
   * @param {Account} account
   * @returns {{ words: string, line: Mean | null }}
   */
  #atPoint(account) {
    const { log, cursor, beside } = this.store.look;
    const own = this.logs[log].account;
    const cell = own && !Number.isNaN(cursor) ? own.line(own.rowAt(cursor)).cell : -1;
    if (cell < 0) return { words: "at the same operating point", line: null };
    const key = `${beside} ${cell}`;
    const known = this.means.get(key);
    const line = known === undefined ? meanIn(account, cell) : known;
    this.means.set(key, line);
    const stay = line ? `mean of ${duration(line.seconds)}` : "not driven there";
    return { words: `${this.place(cell)}: ${stay}`, line };
  }
}
