/** One log of the page, unpacked: its ledger and its channels. */

import { Series, nearest } from "#page/series.js";
import { Stack } from "#page/stack.js";
import { unpack } from "#page/unpack.js";

/**
 * @typedef {import("#page/types.js").LogData} LogData
 * @typedef {import("#page/types.js").AccountData} AccountData
 * @typedef {{ title: string, basis: string, values: Float64Array }} Entry
 * @typedef {import("#page/types.js").ScaleData} ScaleData
 *
 * @typedef {object} Channel
 * @property {string} name
 * @property {string} unit
 * @property {ScaleData | null} scale
 * @property {string} signal
 * @property {number} decimals
 * @property {Series} series  unpacked once somebody looks at it
 *
 * @typedef {object} Line the account at one row of the ledger; NaN for what is not there
 * @property {number} row
 * @property {number} time
 * @property {number} scheduled
 * @property {number[]} entries
 * @property {number} delivered
 * @property {number} unaccounted
 * @property {number} rehearsed
 * @property {string} regime
 * @property {boolean} void no spark to speak of
 * @property {number} cell of the map, −1 for none
 */

/** A log's ledger, row by row. */
export class Account {
  /**
   * @param {Uint8Array} bytes
   * @param {AccountData} data
   * @param {Float64Array} times
   */
  constructor(bytes, data, times) {
    this.times = times;
    this.gap = data.gap_s;
    this.decimals = data.decimals;
    this.sources = data.sources;
    this.scheduled = unpack(bytes, data.scheduled);
    this.delivered = unpack(bytes, data.delivered);
    this.own = unpack(bytes, data.own);
    const rehearsed = data.rehearsed && unpack(bytes, data.rehearsed);
    this.void = unpack(bytes, data.void);
    this.regimes = data.regimes;
    this.regime = unpack(bytes, data.regime);
    this.cells = data.cells ? unpack(bytes, data.cells) : null;
    /** @type {Entry[]} */
    this.entries = data.entries.map(({ title, basis, values }) => ({
      title,
      basis,
      values: unpack(bytes, values),
    }));
    this.difference = this.#difference();
    this.unaccounted = this.#unaccounted();
    const how = { gap: data.gap_s };
    this.scheduledSeries = new Series(times, this.scheduled, how);
    this.deliveredSeries = new Series(times, this.#owned(this.delivered), how);
    /** Rows that can be judged: not void, with a delivered sample of their own. */
    this.rows = Int32Array.from(this.#judged());
    this.rowTimes = Float64Array.from(this.rows, (row) => times[row]);
    this.stack = new Stack(this);
    /** Delivered as a rehearsed change has it. @type {Series | null} */
    this.rehearsedSeries = null;
    this.rehearse(rehearsed);
  }

  /** @param {Float64Array | null} values per row; null where nothing is rehearsed */
  rehearse(values) {
    const how = { gap: this.gap };
    this.rehearsedSeries = values && new Series(this.times, this.#owned(values), how);
    this.rehearsed = values;
  }

  #difference() {
    const { scheduled, delivered } = this;
    return this.#owned(delivered.map((value, i) => value - scheduled[i]));
  }

  /** From the numbers as they are shown, so that every line of the page adds up. */
  #unaccounted() {
    const out = this.difference.slice();
    for (const { values } of this.entries) {
      for (let i = 0; i < out.length; i++) out[i] -= values[i];
    }
    return out;
  }

  /** @param {Float64Array} values */
  #owned(values) {
    return values.map((value, i) => (this.own[i] && !this.void[i] ? value : NaN));
  }

  *#judged() {
    for (let i = 0; i < this.times.length; i++) {
      if (Number.isFinite(this.difference[i])) yield i;
    }
  }

  /**
   * The row that speaks for a time: the nearest that can be judged, else the nearest of all.
   * @param {number} time
   */
  rowAt(time) {
    const index = nearest(this.rowTimes, time);
    if (index >= 0 && Math.abs(this.rowTimes[index] - time) <= this.gap) return this.rows[index];
    return nearest(this.times, time);
  }

  /**
   * @param {number} row
   * @returns {Line}
   */
  line(row) {
    const cell = this.cells ? this.cells[row] : NaN;
    return {
      row,
      time: this.times[row],
      scheduled: this.scheduled[row],
      entries: this.entries.map(({ values }) => values[row]),
      delivered: this.own[row] ? this.delivered[row] : NaN,
      unaccounted: this.unaccounted[row],
      rehearsed: this.rehearsed && this.own[row] ? this.rehearsed[row] : NaN,
      regime: this.regimes[this.regime[row]] ?? "",
      void: this.void[row] === 1,
      cell: Number.isNaN(cell) ? -1 : cell,
    };
  }
}

/**
 * @param {Uint8Array} bytes
 * @param {import("#page/types.js").ChannelData} data
 * @param {Float64Array} times
 * @returns {Channel}
 */
export function channelOf(bytes, data, times) {
  const how = { gap: data.gap_s, step: data.step };
  /** @type {Series | null} */
  let series = null;
  return {
    name: data.name,
    unit: data.unit,
    scale: data.scale,
    signal: data.signal,
    decimals: Math.max(0, data.values.decimals),
    get series() {
      series ??= new Series(times, unpack(bytes, data.values), how);
      return series;
    },
  };
}

/** A log with everything that the page carries of it. */
export class Log {
  /**
   * @param {Uint8Array} bytes
   * @param {LogData} data
   */
  constructor(bytes, data) {
    const bases = data.bases.map((packed) => unpack(bytes, packed));
    this.file = data.file;
    this.end = Math.max(data.end_s, 1e-3);
    this.account = data.account && new Account(bytes, data.account, bases[data.account.base]);
    this.context = data.context;
    /** @type {Channel[]} */
    this.channels = data.channels.map((channel) => channelOf(bytes, channel, bases[channel.base]));
    /** Decimals of the log's own time stamps. */
    this.timePlaces = Math.max(2, ...data.bases.map((packed) => packed.decimals));
  }

  /** Times at which the cursor may stand: judged rows, else the first channel's samples. */
  get stops() {
    if (this.account?.rows.length) return this.account.rowTimes;
    return this.account?.times ?? this.channels[0]?.series.times ?? new Float64Array(0);
  }

  /**
   * The time of the sample that speaks for a time.
   * @param {number} time
   */
  snap(time) {
    if (Number.isNaN(time)) return NaN;
    if (this.account) return this.account.times[this.account.rowAt(time)] ?? time;
    return this.stops[nearest(this.stops, time)] ?? time;
  }

  /**
   * The time so many samples further on, or back.
   * @param {number} time
   * @param {number} steps
   */
  beside(time, steps) {
    const { stops } = this;
    const index = Math.max(0, Math.min(stops.length - 1, nearest(stops, time) + steps));
    return stops[index] ?? time;
  }
}
