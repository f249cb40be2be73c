/** Choosing a cause or an episode: the page goes there and brings up what proves it. */

/**
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/types.js").PageData} PageData
 */

const ROOM = 0.35; // of the window's length, left free at either side
const LEAST = 0.4; // seconds left free at least
const MOSTLY = 0.6; // of the run: windows spread wider than this are shown one at a time

export class Chooser {
  /**
   * @param {Store} store
   * @param {PageData} data
   */
  constructor(store, data) {
    this.store = store;
    this.data = data;
  }

  /**
   * Choose a cause and go to its windows: all of them, or where they are spread over the run, the
   * longest.
   * @param {number} index
   */
  cause(index) {
    const own = this.data.causes[index].episodes;
    const windows = own.map((i) => ({ ...this.data.episodes[i], i }));
    if (!windows.length) {
      this.store.set({ cause: index, episode: -1 });
      return;
    }
    const longest = windows.reduce((a, b) =>
      b.end_s - b.start_s > a.end_s - a.start_s ? b : a,
    );
    const near = windows.filter((w) => w.log === longest.log);
    const from = Math.min(...near.map((w) => w.start_s));
    const to = Math.max(...near.map((w) => w.end_s));
    const spread = near.length > 1 && to - from > MOSTLY * this.store.ends[longest.log];
    if (spread) this.episode(longest.i, index);
    else this.#go(longest.log, from, to, { cause: index, episode: near.length > 1 ? -1 : longest.i });
  }

  /**
   * @param {number} index
   * @param {number} [cause] by default the one that explains it
   */
  episode(index, cause = this.causeOf(index)) {
    const { log, start_s, end_s } = this.data.episodes[index];
    this.#go(log, start_s, end_s, { cause, episode: index });
  }

  /**
   * The chosen cause where it explains this episode too, else the first that does.
   * @param {number} index
   */
  causeOf(index) {
    const { causes } = this.data;
    const { cause } = this.store.look;
    if (causes[cause]?.episodes.includes(index)) return cause;
    const first = causes.findIndex((c) => c.episodes.includes(index));
    return first < 0 ? cause : first;
  }

  /**
   * The next or previous episode of this log, counted from the one last visited or from the middle
   * of the window.
   * @param {number} step
   */
  beside(step) {
    const { look } = this.store;
    const here = this.data.episodes
      .map((e, i) => ({ ...e, i }))
      .filter((e) => e.log === look.log)
      .sort((a, b) => a.start_s - b.start_s);
    if (!here.length) return;
    const now = here.findIndex((e) => e.i === look.episode);
    const middle = this.store.whole ? 0 : (look.from + look.to) / 2;
    const after = here.findIndex((e) => e.start_s > middle);
    const next = now >= 0 ? now + step : step > 0 ? after : (after < 0 ? here.length : after) - 1;
    const found = here[(next + here.length) % here.length];
    this.episode(found.i);
  }

  /**
   * @param {number} log
   * @param {number} from
   * @param {number} to
   */
  stretch(log, from, to) {
    this.#go(log, from, to, { episode: -1 });
  }

  /**
   * @param {number} log
   * @param {number} from
   * @param {number} to
   * @param {Partial<import("#page/store.js").Look>} more
   */
  #go(log, from, to, more) {
    const room = Math.max(LEAST, (to - from) * ROOM);
    const cursor = (from + to) / 2;
    this.store.show(from - room, to + room, { log, cursor, frozen: true, ...more });
  }
}
