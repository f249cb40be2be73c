/** The strips over one time axis: which stand there, drawing them, and the cursor through all. */

import { button, el, fitted } from "#page/dom.js";
import { readInk } from "#page/ink.js";
import { legend } from "#page/legend.js";
import { unitWords } from "#page/numbers.js";
import { onPrinting } from "#page/print.js";
import { Roster } from "#page/roster.js";
import { Row } from "#page/row.js";
import { Sheet } from "#page/sheet.js";
import { balanceStrip, channelStrip, entriesStrip, shiftedStrip } from "#page/strips.js";
import { AXIS_HEIGHT, drawAxis, ground, windowsOf } from "#page/windows.js";

/**
 * @typedef {import("#page/account.js").Log} Log
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/store.js").Look} Look
 * @typedef {import("#page/types.js").PageData} PageData
 * @typedef {import("#page/strips.js").Strip} Strip
 */

const REBUILDS = /** @type {const} */ ([
  "log", "cause", "strips", "beside", "shift", "link", "pressure", "temperature",
]);
const NEARLY = 200; // CSS pixels; strips so far off the screen are drawn along with those on it
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
    this.sheet = new Sheet();
    this.watch = new IntersectionObserver(() => this.#scrolled(), { rootMargin: `${NEARLY}px 0px` });
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
    const { beside, link, log, shift } = this.store.look;
    const other = beside !== log && link === "time" ? this.logs[beside] : undefined;
    if (account && other?.account) {
      strips.splice(1, 0, shiftedStrip(balanceStrip(other.account), shift, other.file));
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
    this.watch.disconnect();
    this.rows = strips.map((strip) => new Row(strip));
    const shown = [...listed.keys()];
    const rows = this.rows.map((row, i) => {
      const { strip, paper, values } = row;
      const index = shown[i - head];
      const acts = this.roster.acts(index, strip.name).map(([text, act, label]) =>
        button(text, act, { class: "quiet", "aria-label": label }),
      );
      row.stand(this.printing);
      return el(
        "div",
        { class: `strip ${strip.kind}` },
        el("div", { class: "strip-head" }, ...this.#head(strip), ...acts),
        paper,
        el("div", { class: "strip-value" }, ...values),
      );
    });
    this.root.replaceChildren(this.sheet.root, axis, ...rows, this.cursor);
    this.draw();
    for (const { paper } of this.rows) this.watch.observe(paper);
  }

  /** Where the strips stand on the board, and which of them are on the screen or nearly. */
  #place() {
    const above = this.root.getBoundingClientRect().top;
    for (const row of this.rows) {
      row.top = row.paper.offsetTop;
      const [top, bottom] = [above + row.top, above + row.top + row.strip.height];
      row.near = this.printing || (bottom > -NEARLY && top < innerHeight + NEARLY);
    }
  }

  /** Strips came onto the screen, or went off it: what was put off is made up for. */
  #scrolled() {
    const before = this.rows.map(({ near }) => near);
    this.#place();
    if (this.rows.some(({ near }, i) => near && !before[i])) this.draw();
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

  /** Draw everything on the screen for the window in view; what is off it is put off. */
  draw() {
    const width = this.printing ? PRINTED.width : this.paper.width;
    if (!width) return;
    this.#place();
    const { look } = this.store;
    const ratio = this.printing ? PRINTED.ratio : devicePixelRatio || 1;
    const chosen = this.data.causes[look.cause]?.episodes ?? [];
    const windows = windowsOf(this.data.episodes, look.log, chosen);
    const paper = { width, ratio, look, ink: this.ink };
    const c = fitted(this.axis, width, AXIS_HEIGHT, ratio);
    if (c) drawAxis(c, paper, windows);
    const near = this.rows.filter((row) => row.near);
    const from = this.#unroll(near, width, ratio);
    const under = ground(paper, windows, true);
    for (const row of near) row.draw(paper, under, this.sheet, from);
    if (!this.sheet.root.hidden) this.sheet.show();
    this.point();
  }

  /**
   * Lay the sheet under the strips on the screen.
   * @param {Row[]} near
   * @param {number} width
   * @param {number} ratio
   * @returns {number} the board's height at which it begins
   */
  #unroll(near, width, ratio) {
    const { root } = this.sheet;
    root.hidden = this.printing || !near.length;
    if (root.hidden) return 0;
    const from = near[0].top;
    const last = near[near.length - 1];
    const height = last.top + last.strip.height - from;
    this.sheet.unroll(width, height, ratio, near.map(({ top }) => top).join());
    root.style.width = `${width}px`;
    root.style.height = `${height}px`;
    root.style.left = `${this.paper.left}px`;
    root.style.top = `${from}px`;
    return from;
  }

  /** Move the cursor, and read every strip on the screen at its sample. */
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
      if (row.near) row.read(time, x, seen); // the others when they come onto the screen
    }
  }

  /** The system turned from light to dark, or back. */
  restyle() {
    this.ink = readInk();
    this.build();
    this.root.dispatchEvent(new Event("restyled"));
  }
}
