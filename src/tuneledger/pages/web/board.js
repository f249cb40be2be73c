/** The strips over one time axis: which stand there, drawing them, and the cursor through all. */

import { button, el, fitted, put } from "#page/dom.js";
import { readInk } from "#page/ink.js";
import { legend } from "#page/legend.js";
import { unitWords } from "#page/numbers.js";
import { Pen } from "#page/pen.js";
import { onPrinting } from "#page/print.js";
import { balanceStrip, channelStrip, entriesStrip } from "#page/strips.js";
import { AXIS_HEIGHT, drawAxis, shade, windowsOf } from "#page/windows.js";

/**
 * @typedef {import("#page/account.js").Log} Log
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/store.js").Look} Look
 * @typedef {import("#page/types.js").PageData} PageData
 * @typedef {import("#page/types.js").LineData} LineData
 * @typedef {import("#page/strips.js").Strip} Strip
 *
 * @typedef {object} Row a strip as it stands on the page
 * @property {Strip} strip
 * @property {HTMLCanvasElement} canvas
 * @property {HTMLElement[]} values
 * @property {HTMLElement[]} marks
 */

const REBUILDS = /** @type {const} */ (["log", "cause", "pressure", "temperature"]);
const PRINTED = { width: 500, ratio: 3 }; // a strip on an upright sheet: CSS pixels, device per CSS

export class Board {
  /**
   * @param {HTMLElement} root
   * @param {Store} store
   * @param {Log[]} logs
   * @param {PageData} data
   */
  constructor(root, store, logs, data) {
    this.root = root;
    this.store = store;
    this.logs = logs;
    this.data = data;
    this.ink = readInk();
    /** @type {Row[]} */
    this.rows = [];
    /** @type {number[]} channels of this log that the reader added */
    this.added = [];
    this.axis = /** @type {HTMLCanvasElement} */ (el("canvas", { "aria-hidden": "true" }));
    this.cursor = el("div", { class: "cursor", hidden: true });
    this.printing = false;
    this.build();
    store.listen((_, changed) => this.#follow(changed));
    new ResizeObserver(() => this.draw()).observe(root);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.restyle());
    onPrinting((printing) => {
      this.printing = printing;
      this.restyle();
    });
  }

  get log() {
    return this.logs[this.store.look.log];
  }

  /** @param {Set<keyof Look>} changed */
  #follow(changed) {
    if (changed.has("log")) this.added = [];
    if (REBUILDS.some((key) => changed.has(key))) this.build();
    if (changed.has("from") || changed.has("to")) this.draw();
    else if (changed.has("cursor") || changed.has("frozen")) this.point();
  }

  /**
   * Left edge and width of the paper, in the board's CSS pixels.
   * @returns {{ left: number, width: number }}
   */
  get paper() {
    const box = this.axis.parentElement;
    return { left: box?.offsetLeft ?? 0, width: box?.clientWidth ?? 0 };
  }

  /**
   * The time under a point of the page.
   * @param {number} clientX
   */
  timeAt(clientX) {
    const { left, width } = this.paper;
    const { from, to } = this.store.look;
    return from + ((clientX - this.root.getBoundingClientRect().left - left) / width) * (to - from);
  }

  /** Put up the strips of this log and cause. */
  build() {
    const { account, channels } = this.log;
    /** @type {Strip[]} */
    const strips = account ? [balanceStrip(account), entriesStrip(account)] : [];
    const head = strips.length;
    for (const [index, { lines, why }] of this.#shown()) {
      strips.push(channelStrip(channels[index], lines, why, this.store.look));
    }
    const axis = el(
      "div",
      { class: "strip axis" },
      el("div", { class: "strip-head" }, account ? "episodes" : ""),
      el("div", { class: "strip-paper" }, this.axis),
      el("div", { class: "strip-value" }),
    );
    this.rows = strips.map((strip) => this.#row(strip));
    const shown = [...this.#shown().keys()];
    const rows = this.rows.map(({ strip, canvas, values, marks }, i) => {
      const index = shown[i - head];
      const drop = this.added.includes(index) ? this.#order(index, strip.name) : [];
      return el(
        "div",
        { class: `strip ${strip.kind}` },
        el("div", { class: "strip-head" }, ...this.#head(strip), ...drop),
        el("div", { class: "strip-paper" }, canvas, ...marks),
        el("div", { class: "strip-value" }, ...values),
      );
    });
    this.root.replaceChildren(axis, ...rows, this.cursor);
    this.draw();
  }

  /** Channels to show, each once: what proves the cause, what the reader added, the context. */
  #shown() {
    const { log, cause } = this.store.look;
    /** @type {Map<number, { lines: LineData[], why: string }>} */
    const shown = new Map();
    for (const strip of this.data.causes[cause]?.strips ?? []) {
      if (strip.log !== log) continue;
      shown.set(strip.channel, { lines: strip.lines, why: `evidence for cause ${cause + 1}` });
    }
    for (const index of [...this.added, ...this.log.context]) {
      if (!shown.has(index)) shown.set(index, { lines: [], why: "" });
    }
    return shown;
  }

  /** Channels that the page carries and does not show just now. */
  get spare() {
    const shown = this.#shown();
    return this.log.channels.map((_, index) => index).filter((index) => !shown.has(index));
  }

  /**
   * The first spare channel that some letters name; −1 where none does.
   * @param {string} letters
   * @param {boolean} exactly the whole name, no part of it
   */
  find(letters, exactly) {
    const wanted = letters.trim().toLowerCase();
    const named = (/** @type {number} */ i) => this.log.channels[i].name.toLowerCase();
    const whole = this.spare.find((i) => named(i) === wanted);
    if (whole !== undefined || exactly || !wanted) return whole ?? -1;
    return this.spare.find((i) => named(i).includes(wanted)) ?? -1;
  }

  /** @param {number} index */
  add(index) {
    this.added.push(index);
    this.build();
  }

  /**
   * What to do with a strip that the reader added: higher up, or away.
   * @param {number} index
   * @param {string} name
   */
  #order(index, name) {
    const others = this.added.filter((other) => other !== index);
    const place = this.added.indexOf(index);
    const set = (/** @type {number[]} */ added) => {
      this.added = added;
      this.build();
      this.root.dispatchEvent(new Event("strips"));
    };
    const up = () => set([...others.slice(0, place - 1), index, ...others.slice(place - 1)]);
    const quiet = (/** @type {string} */ does) => ({ class: "quiet", "aria-label": `${does} the strip ${name}` });
    const lift = place > 0 ? [button("higher", up, quiet("Move up")), " "] : [];
    return [...lift, button("remove", () => set(others), quiet("Remove"))];
  }

  /**
   * @param {Strip} strip
   * @returns {Row}
   */
  #row(strip) {
    const canvas = /** @type {HTMLCanvasElement} */ (el("canvas", { "aria-hidden": "true" }));
    const readings = strip.read(NaN);
    return {
      strip,
      canvas,
      values: readings.map((_, i) => el("output", { class: `value-${i}`, "aria-live": "off" })),
      marks: readings.map((_, i) => el("i", { class: `mark mark-${i}`, hidden: true })),
    };
  }

  /** @param {Strip} strip */
  #head(strip) {
    const unit = unitWords(strip.unit);
    const name = el("b", {}, strip.name);
    const parts = [name, unit ? el("span", { class: "unit" }, unit === "°" ? "degrees" : unit) : ""];
    if (strip.why) parts.push(el("span", { class: "why" }, strip.why));
    const { signal } = this.log.channels.find((c) => c.name === strip.name) ?? { signal: "" };
    if (strip.kind === "channel" && signal && signal !== strip.name.toLowerCase()) {
      parts.splice(2, 0, el("span", { class: "signal" }, signal));
    }
    const { account } = this.log;
    return account ? [...parts, ...legend(strip.kind, account, this.ink)] : parts;
  }

  /** Draw everything for the window in view. */
  draw() {
    const width = this.printing ? PRINTED.width : this.paper.width;
    if (!width) return;
    const { look } = this.store;
    const ratio = this.printing ? PRINTED.ratio : devicePixelRatio || 1;
    const chosen = this.data.causes[look.cause]?.episodes ?? [];
    const windows = windowsOf(this.data.episodes, look.log, chosen);
    const pen = (/** @type {HTMLCanvasElement} */ canvas, /** @type {number} */ height) => {
      const c = fitted(canvas, width, height, ratio);
      return c && new Pen(c, { width, height, ratio }, look, this.ink);
    };
    const axis = pen(this.axis, AXIS_HEIGHT);
    if (axis) drawAxis(axis, windows);
    for (const row of this.rows) {
      const strip = pen(row.canvas, row.strip.height);
      if (!strip) continue;
      shade(strip, windows);
      row.strip.draw(strip);
      this.ranges.set(row, strip.range);
    }
    this.point();
  }

  /** @type {Map<Row, import("#page/scale.js").Range>} what each strip's paper spans just now */
  ranges = new Map();

  /** Move the cursor, and read every strip at its sample. */
  point() {
    const { cursor, frozen, from, to } = this.store.look;
    const { left, width } = this.paper;
    const time = this.log.snap(cursor);
    const x = ((time - from) / (to - from)) * width;
    const seen = x >= 0 && x <= width;
    this.cursor.hidden = !seen;
    this.cursor.classList.toggle("frozen", frozen);
    const share = (time - from) / (to - from); // paper is of another width than the screen
    this.cursor.style.left = this.printing
      ? `calc(var(--names) + (100% - var(--names) - var(--values)) * ${share})`
      : "0";
    this.cursor.style.transform = this.printing ? "" : `translateX(${left + x}px)`;
    for (const row of this.rows) {
      const { strip, values, marks } = row;
      const range = this.ranges.get(row);
      const readings = strip.read(time);
      for (let i = 0; i < readings.length; i++) {
        const { text, value } = readings[i];
        put(values[i], Number.isNaN(time) ? "" : text);
        const drawn = seen && range !== undefined && !Number.isNaN(value);
        marks[i].hidden = !drawn;
        if (!drawn) continue;
        const y = ((range.high - value) / (range.high - range.low)) * strip.height;
        marks[i].style.transform = `translate(${x}px, ${y}px)`;
      }
    }
  }

  /** The system turned from light to dark, or back. */
  restyle() {
    this.ink = readInk();
    this.build();
    this.root.dispatchEvent(new Event("restyled"));
  }
}
