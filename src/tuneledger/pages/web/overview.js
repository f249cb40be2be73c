/** The whole run in one thin line: where it differs, and which part of it is in view. */

import { el } from "#page/dom.js";
import { rgb } from "#page/ink.js";
import { Pen } from "#page/pen.js";
import { clamp } from "#page/scale.js";
import { Sheet } from "#page/sheet.js";
import { ground, windowsOf } from "#page/windows.js";

/**
 * @typedef {import("#page/board.js").Board} Board
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/types.js").PageData} PageData
 */

const HEIGHT = 30;

export class Overview {
  /**
   * @param {HTMLElement} root
   * @param {Store} store
   * @param {Board} board
   * @param {PageData} data
   */
  constructor(root, store, board, data) {
    this.root = root;
    this.store = store;
    this.board = board;
    this.sheet = new Sheet();
    this.data = data;
    this.frame = el("div", { class: "in-view" });
    this.paper = el("div", { class: "strip-paper" }, this.sheet.root, this.frame);
    const head = el("div", { class: "strip-head" }, "whole run");
    root.replaceChildren(head, this.paper, el("div", { class: "strip-value" }));
    this.#listen();
    store.listen((_, changed) => {
      if (changed.has("log") || changed.has("cause")) this.draw();
      else if (changed.has("from") || changed.has("to")) this.#place();
    });
    new ResizeObserver(() => this.draw()).observe(root);
    board.root.addEventListener("restyled", () => this.draw());
  }

  #listen() {
    const go = (/** @type {PointerEvent} */ event) => {
      const box = this.paper.getBoundingClientRect();
      const at = clamp((event.clientX - box.left) / box.width, 0, 1) * this.store.end;
      const { from, to } = this.store.look;
      this.store.show(at - (to - from) / 2, at + (to - from) / 2, { episode: -1 });
    };
    this.paper.addEventListener("pointerdown", (event) => {
      this.paper.setPointerCapture(event.pointerId);
      go(event);
    });
    this.paper.addEventListener("pointermove", (event) => {
      if (event.buttons & 1) go(event);
    });
  }

  draw() {
    const width = this.paper.clientWidth;
    if (!width) return;
    const ratio = devicePixelRatio || 1;
    const { look, end } = this.store;
    const { ink, log } = this.board;
    const { account } = log;
    this.root.hidden = !account;
    if (!account) return;
    const chosen = this.data.causes[look.cause]?.episodes ?? [];
    const windows = windowsOf(this.data.episodes, look.log, chosen);
    const paper = { width, ratio, look: { from: 0, to: end }, ink };
    const [wide, high] = [width, HEIGHT].map((length) => Math.round(length * ratio));
    this.sheet.unroll(width, HEIGHT, ratio, "");
    const pixels = this.sheet.take(wide, high);
    pixels.lay(ground(paper, windows, false));
    const pen = new Pen(pixels, { width, height: HEIGHT, ratio }, paper.look, ink);
    const { low, high: top } = account.stack;
    pen.over({ low: Math.min(low, -1) * 1.1, high: Math.max(top, 1) * 1.1 });
    account.stack.draw(pen);
    pen.across(0, rgb(ink.soft).packed);
    this.sheet.put(0);
    this.sheet.show();
    this.#place();
  }

  #place() {
    const { look, end, whole } = this.store;
    this.frame.hidden = whole;
    this.frame.style.left = `${(100 * look.from) / end}%`;
    this.frame.style.width = `${(100 * (look.to - look.from)) / end}%`;
  }
}
