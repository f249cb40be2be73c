/** What the reader is looking at, and who wants to know when that changes. */

import { clamp } from "#page/scale.js";

/**
 * @typedef {object} Look
 * @property {number} log     index of the log
 * @property {number} from    seconds at the left edge
 * @property {number} to      seconds at the right edge
 * @property {number} cursor  seconds; NaN: nowhere
 * @property {boolean} frozen the cursor stays where it is
 * @property {number} cause   index of the chosen cause, −1 for none
 * @property {number} episode index of the episode last jumped to, −1 for none
 * @property {number} cell    chosen cell of the map, −1 for none
 * @property {number} beside  index of the log that stands beside it, −1 for none
 * @property {number} shift   seconds by which the other log's time is ahead of this one's
 * @property {string} link    what they are linked by: "time" or "point"
 * @property {string} strips  channels of this log that the reader brought up, "3.0.7" in their order
 * @property {string} pressure    unit of pressures, "" for the log's own
 * @property {string} temperature unit of temperatures, "" for the log's own
 *
 * @typedef {(look: Look, changed: Set<keyof Look>) => void} Listener
 */

const SHORTEST = 0.02; // seconds in view; below it there is nothing more to see

export class Store {
  /**
   * @param {Look} look
   * @param {number[]} ends seconds at which each log ends
   */
  constructor(look, ends) {
    this.look = look;
    this.ends = ends;
    /** @type {Listener[]} */
    this.listeners = [];
  }

  /** @param {Listener} listener */
  listen(listener) {
    this.listeners.push(listener);
  }

  /** @param {Partial<Look>} change */
  set(change) {
    if (change.log !== undefined && change.log !== this.look.log) change = { strips: "", ...change };
    if (change.beside !== undefined && change.beside !== this.look.beside) change = { shift: 0, ...change };
    const next = { ...this.look, ...change };
    const keys = /** @type {(keyof Look)[]} */ (Object.keys(change));
    const changed = new Set(keys.filter((key) => !Object.is(next[key], this.look[key])));
    if (!changed.size) return;
    this.look = next;
    for (const listener of this.listeners) listener(next, changed);
  }

  get end() {
    return this.ends[this.look.log];
  }

  get whole() {
    return this.look.from <= 0 && this.look.to >= this.end;
  }

  /**
   * Show a window, kept within the log.
   * @param {number} from
   * @param {number} to
   * @param {Partial<Look>} [more]
   */
  show(from, to, more = {}) {
    const end = this.ends[more.log ?? this.look.log];
    const span = clamp(to - from, Math.min(SHORTEST, end), end);
    const start = clamp((from + to - span) / 2, 0, end - span);
    this.set({ ...more, from: start, to: start + span });
  }

  /**
   * Zoom about a time that stays where it is; a factor below 1 shows less.
   * @param {number} factor
   * @param {number} about
   */
  zoom(factor, about) {
    const { from, to } = this.look;
    const span = clamp((to - from) * factor, Math.min(SHORTEST, this.end), this.end);
    const start = clamp(about - ((about - from) / (to - from)) * span, 0, this.end - span);
    this.set({ from: start, to: start + span });
  }

  /** @param {number} seconds */
  pan(seconds) {
    const { from, to } = this.look;
    const start = clamp(from + seconds, 0, this.end - (to - from));
    this.set({ from: start, to: start + (to - from) });
  }
}
