/** Which channels have a strip, in which order, and which others could have one. */

/**
 * @typedef {import("#page/account.js").Log} Log
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/types.js").PageData} PageData
 * @typedef {import("#page/types.js").LineData} LineData
 * @typedef {[text: string, act: () => void, label: string]} Act what can be done with a strip
 */

export class Roster {
  /**
   * @param {Store} store
   * @param {Log[]} logs
   * @param {PageData} data
   */
  constructor(store, logs, data) {
    this.store = store;
    this.logs = logs;
    this.data = data;
    /** Channels that the page does not carry and somebody can bring, by their names.
     * @type {(log: number) => string[]} */
    this.absent = () => [];
    /** @type {(log: number, name: string) => Promise<void>} brings one into the log */
    this.bring = () => Promise.resolve();
  }

  /** Channels of this log that the reader added, in their order. */
  get added() {
    const given = this.store.look.strips.split(".").map((part) => Number.parseInt(part, 10));
    return [...new Set(given)].filter((index) => index in this.channels);
  }

  get channels() {
    return this.logs[this.store.look.log].channels;
  }

  /** Channels to show, each once: what proves the cause, what the reader added, the context. */
  get shown() {
    const { log, cause } = this.store.look;
    /** @type {Map<number, { lines: LineData[], why: string }>} */
    const shown = new Map();
    for (const strip of this.data.causes[cause]?.strips ?? []) {
      if (strip.log !== log) continue;
      shown.set(strip.channel, { lines: strip.lines, why: `evidence for cause ${cause + 1}` });
    }
    for (const index of [...this.added, ...this.logs[log].context]) {
      if (!shown.has(index)) shown.set(index, { lines: [], why: "" });
    }
    return shown;
  }

  /** Names of all channels that can be added: those that the page carries, then the others. */
  get addable() {
    const { channels, shown } = this;
    const carried = new Set(channels.map(({ name }) => name));
    const spare = channels.filter((_, index) => !shown.has(index)).map(({ name }) => name);
    return [...spare, ...this.absent(this.store.look.log).filter((name) => !carried.has(name))];
  }

  /**
   * The first channel that some letters name, of those that can be added.
   * @param {string} letters
   * @param {boolean} exactly the whole name, no part of it
   */
  find(letters, exactly) {
    const wanted = letters.trim().toLowerCase();
    const names = this.addable;
    const whole = names.find((name) => name.toLowerCase() === wanted);
    if (whole !== undefined || exactly || !wanted) return whole;
    return names.find((name) => name.toLowerCase().includes(wanted));
  }

  /** @param {string} name */
  async add(name) {
    const { log } = this.store.look;
    const { channels } = this.logs[log];
    if (!channels.some((channel) => channel.name === name)) await this.bring(log, name);
    const index = channels.findIndex((channel) => channel.name === name);
    if (index >= 0 && log === this.store.look.log) this.#set([...this.added, index]);
  }

  /**
   * What can be done with a strip: one that the reader added can be moved up and removed.
   * @param {number} index
   * @param {string} name
   * @returns {Act[]}
   */
  acts(index, name) {
    const place = this.added.indexOf(index);
    if (place < 0) return [];
    const others = this.added.filter((other) => other !== index);
    const up = () => this.#set([...others.slice(0, place - 1), index, ...others.slice(place - 1)]);
    /** @type {Act} */
    const lift = ["higher", up, `Move up the strip ${name}`];
    /** @type {Act} */
    const drop = ["remove", () => this.#set(others), `Remove the strip ${name}`];
    return place > 0 ? [lift, drop] : [drop];
  }

  /** @param {number[]} added */
  #set(added) {
    this.store.set({ strips: added.join(".") });
  }
}
