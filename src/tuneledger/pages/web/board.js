/** The strips over one time axis: which stand there, drawing them, and the cursor through all. */

import { button, el, fitted, put } from "#page/dom.js";
import { readInk } from "#page/ink.js";
import { legend } from "#page/legend.js";
import { unitWords } from "#page/numbers.js";
import { Pen } from "#page/pen.js";
import { onPrinting } from "#page/print.js";
import { Roster } from "#page/roster.js";
import { balanceStrip, channelStrip, entriesStrip } from "#page/strips.js";
import { AXIS_HEIGHT, drawAxis, shade, windowsOf } from "#page/windows.js";

/**
 * @typedef {import("#page/account.js").Log} Log
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/store.js").Look} Look
 * @typedef {import("#page/types.js").PageData} PageData
 * @typedef {import("#page/strips.js").Strip} Strip
 *
 * @typedef {object} Row a strip as it stands on the page
 * @property {Strip} strip
 * @property {HTMLCanvasElement} canvas
 * @property {HTMLElement[]} values
 * @property {HTMLElement[]} marks
 */

const REBUILDS = /** @type {const} */ ([
  "log", "cause", "beside", "link", "pressure", "temperature",
]);
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
    this.roster = new Roster(store, logs, data);
    this.axis = /** @type {HTMLCanvasElement} */ (el("canvas", { "aria-hidden": "true" }));
    this.cursor = el("div", { class: "cursor", hidden: true });
    this.printing = false;
    this.build();
    store.listen((_, changed) => this.#follow(changed));
    this.roster.listen(() => this.build());
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
    const { beside, link, log } = this.store.look;
    const other = beside !== log && link === "time" ? this.logs[beside] : undefined;
    if (account && other?.account) {
      strips.splice(1, 0, { ...balanceStrip(other.account), name: "Spark advance", why: other.file });
    }
    const head = strips.length;
    const listed = this.roster.shown;
    for (const [index, { lines, why }] of listed) {
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
    const shown = [...listed.keys()];
    const rows = this.rows.map(({ strip, canvas, values, marks }, i) => {
      const index = shown[i - head];
      const acts = this.roster.acts(index, strip.name).map(([text, act, label]) =>
        button(text, act, { class: "quiet", "aria-label": label }),
      );
      return el(
        "div",
        { class: `strip ${strip.kind}` },
        el("div", { class: "strip-head" }, ...this.#head(strip), ...acts),
        el("div", { class: "strip-paper" }, canvas, ...marks),
        el("div", { class: "strip-value" }, ...values),
      );
    });
    this.root.replaceChildren(axis, ...rows, this.cursor);
    this.draw();
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
