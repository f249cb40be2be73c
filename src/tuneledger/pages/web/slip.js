/**
 * The slip: the account at one instant, like a till receipt laid on its side. It has a field for
 * every entry that acts in the log, so that nothing jumps while the cursor moves.
 */

import { button, el, put } from "#page/dom.js";
import { fixed, signed } from "#page/numbers.js";
import { extremes } from "#page/series.js";

/**
 * @typedef {import("#page/account.js").Account} Account
 * @typedef {import("#page/account.js").Log} Log
 * @typedef {import("#page/account.js").Line} Line
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {{ box: HTMLElement, value: HTMLElement, note: HTMLElement }} Field
 */

const LEAST = 0.005; // degrees
const MEANS = "The slip: scheduled, what every correction added or took, delivered, unaccounted";

export class Slip {
  /**
   * @param {HTMLElement} root
   * @param {Store} store
   * @param {Log[]} logs
   * @param {number} tolerance degrees beyond which a difference counts
   */
  constructor(root, store, logs, tolerance) {
    this.root = root;
    this.tolerance = tolerance;
    this.store = store;
    this.logs = logs;
    this.spoken = el("p", { class: "unseen", "aria-live": "polite" });
    this.copied = el("span", { class: "said", role: "status" });
    this.build();
    store.listen((_, changed) => {
      if (changed.has("log")) this.build();
      else if (changed.has("cursor") || changed.has("frozen")) this.show();
    });
  }

  get account() {
    return this.logs[this.store.look.log].account;
  }

  build() {
    const { account } = this;
    this.root.hidden = !account;
    if (!account) return;
    /** Entries that act, or cannot be computed, somewhere in this log. */
    this.acting = account.entries.map((_, i) => i).filter((i) => acts(account.entries[i].values));
    this.when = el("b", { class: "when" });
    this.where = el("small", { class: "where" });
    this.scheduled = field("scheduled", account.sources[0]);
    this.entries = this.acting.map((i) => field(account.entries[i].title, account.entries[i].basis));
    this.rest = el("small", { class: "rest" });
    this.delivered = field("delivered", account.sources[1]);
    this.unaccounted = field("unaccounted", "");
    this.rehearsed = account.rehearsed ? field("rehearsed", "") : null;
    this.freeze = button("Hold", () => {
      const { look } = this.store;
      this.store.set({ frozen: !look.frozen && !Number.isNaN(look.cursor) });
    });
    const silent = account.entries.length - this.acting.length;
    put(this.rest, silent ? `${silent} more, always 0` : "");
    this.root.replaceChildren(
      el("div", { class: "slip-when", title: MEANS }, this.when, this.where, this.rest),
      el(
        "div",
        { class: "slip-line" },
        this.scheduled.box,
        ...this.entries.map((entry) => entry.box),
        this.delivered.box,
        this.unaccounted.box,
        ...(this.rehearsed ? [this.rehearsed.box] : []),
      ),
      el("div", { class: "slip-acts" }, this.freeze, button("Copy", () => this.copy()), this.copied),
      this.spoken,
    );
    for (const { box } of this.entries) box.classList.add("entry");
    this.delivered.box.classList.add("total");
    this.show();
  }

  /** @returns {Line | null} */
  get line() {
    const { cursor } = this.store.look;
    const { account } = this;
    if (!account || Number.isNaN(cursor)) return null;
    return account.line(account.rowAt(cursor));
  }

  show() {
    const { account, line, when, where, scheduled, delivered, unaccounted } = this;
    if (!account || !when || !where || !scheduled || !delivered || !unaccounted) return;
    const { frozen } = this.store.look;
    this.root.classList.toggle("frozen", frozen);
    this.freeze?.setAttribute("aria-pressed", String(frozen));
    put(/** @type {Node} */ (this.freeze), frozen ? "Let go" : "Hold");
    this.root.classList.toggle("blank", !line);
    if (!line) {
      put(when, "The slip");
      put(where, "point at an instant in the strips");
      return;
    }
    const places = account.decimals;
    put(when, `${fixed(line.time, this.logs[this.store.look.log].timePlaces)} s`);
    put(where, `row ${line.row + 1}, ${line.void ? "no spark here" : line.regime}`);
    write(scheduled, line.scheduled, degrees(line.scheduled, places, false, "not logged"));
    this.acting?.forEach((index, i) => {
      const value = line.entries[index];
      write(/** @type {Field[]} */ (this.entries)[i], value, degrees(value, places, true, "not known"));
    });
    write(delivered, line.delivered, degrees(line.delivered, places, false, "no sample"));
    write(unaccounted, line.unaccounted, degrees(line.unaccounted, places, true, "not known"));
    const within = Math.abs(line.unaccounted) <= this.tolerance + 1e-9;
    put(unaccounted.note, within ? `within ±${fixed(this.tolerance, 1)}°` : "");
    if (this.rehearsed) {
      const moves = line.rehearsed - line.delivered;
      write(this.rehearsed, line.rehearsed, degrees(line.rehearsed, places, false, "not known"));
      put(this.rehearsed.note, Number.isNaN(moves) ? "" : `moves ${signed(moves, places)}°`);
    }
    this.#speak();
  }

  /** Read aloud once the cursor rests: only a frozen one, or the ear would never get a pause. */
  #speak() {
    clearTimeout(this.timer);
    if (!this.store.look.frozen) return;
    this.timer = setTimeout(() => put(this.spoken, this.text().replaceAll("\n", "; ")), 400);
  }

  /** The slip as text, a line per entry, for a message. */
  text() {
    const { account, line } = this;
    if (!account || !line) return "";
    const log = this.logs[this.store.look.log];
    const places = account.decimals;
    const rows = [
      ["scheduled", degrees(line.scheduled, places, false, "not logged"), ""],
      ...account.entries.flatMap(({ title, basis }, i) => {
        const value = line.entries[i];
        if (Math.abs(value) < LEAST) return [];
        return [[title, degrees(value, places, true, "not known"), basis]];
      }),
      ["delivered", degrees(line.delivered, places, false, "no sample"), ""],
      ["unaccounted", degrees(line.unaccounted, places, true, "not known"), ""],
      ...(account.rehearsed ? [["rehearsed", degrees(line.rehearsed, places, false, "not known"), ""]] : []),
    ];
    const names = Math.max(...rows.map(([name]) => name.length));
    const values = Math.max(...rows.map(([, value]) => value.length));
    const state = line.void ? "no spark" : line.regime;
    const head = `${log.file} at ${fixed(line.time, log.timePlaces)} s (row ${line.row + 1}, ${state})`;
    const body = rows.map(([name, value, basis]) =>
      `${name.padEnd(names)}  ${value.padStart(values)}  ${basis}`.trimEnd(),
    );
    return [head, ...body].join("\n");
  }

  async copy() {
    const text = this.text();
    put(this.copied, !text ? "nothing to copy yet" : (await toClipboard(text)) ? "copied" : text);
    setTimeout(() => put(this.copied, ""), 4000);
  }
}

/** @param {Float64Array} values */
export function acts(values) {
  const [low, high] = extremes(values);
  return low < -LEAST || high > LEAST || values.some(Number.isNaN);
}

/**
 * @param {string} name
 * @param {string} basis
 * @returns {Field}
 */
export function field(name, basis) {
  const value = el("b", { class: "amount" });
  const words = [el("span", { class: "name" }, name), value];
  const note = el("small", {}, basis);
  return { box: el("div", { class: "field" }, ...words, note), value, note };
}

/**
 * @param {Field} field
 * @param {number} value
 * @param {string} text
 */
export function write({ box, value: node }, value, text) {
  put(node, text);
  const sign = value > LEAST ? "adds" : value < -LEAST ? "takes" : Number.isNaN(value) ? "none" : "nil";
  if (box.dataset["sign"] !== sign) box.dataset["sign"] = sign;
}

/**
 * @param {number} value
 * @param {number} places
 * @param {boolean} sign
 * @param {string} missing
 */
export function degrees(value, places, sign, missing) {
  if (Number.isNaN(value)) return missing;
  return `${sign ? signed(value, places) : fixed(value, places)}°`;
}

/**
 * @param {string} text
 * @returns {Promise<boolean>}
 */
async function toClipboard(text) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    const area = /** @type {HTMLTextAreaElement} */ (el("textarea", { class: "unseen" }));
    area.value = text;
    document.body.append(area);
    area.select();
    const done = document.execCommand("copy"); // the way for files opened from disk in some browsers
    area.remove();
    return done;
  }
}
