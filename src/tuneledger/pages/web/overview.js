/** The whole run in one thin line: where it differs, and which part of it is in view. */

import { el, fitted } from "#page/dom.js";
import { Pen } from "#page/pen.js";
import { clamp } from "#page/scale.js";
import { shade, shading, windowsOf } from "#page/windows.js";

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
    this.data = data;
    this.canvas = /** @type {HTMLCanvasElement} */ (el("canvas", { "aria-hidden": "true" }));
    this.frame = el("div", { class: "in-view" });
    this.paper = el("div", { class: "strip-paper" }, this.canvas, this.frame);
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
    const c = fitted(this.canvas, width, HEIGHT, ratio);
    if (!c) return;
    const { look, end } = this.store;
    const pen = new Pen(c, { width, height: HEIGHT, ratio }, { from: 0, to: end }, this.board.ink);
    const windows = windowsOf(this.data.episodes, look.log, this.data.causes[look.cause]?.episodes ?? []);
    const paper = { width, ratio, look: { from: 0, to: end }, ink: this.board.ink };
    shade(pen, shading(paper, windows));
    const { account } = this.board.log;
    this.root.hidden = !account;
    if (account) {
      const { low, high } = account.stack;
      pen.over({ low: Math.min(low, -1) * 1.1, high: Math.max(high, 1) * 1.1 });
      account.stack.draw(pen);
      c.fillStyle = this.board.ink.soft;
      c.fillRect(0, Math.round(pen.y(0)), width, 1);
    }
    this.#place();
  }

  #place() {
    const { look, end, whole } = this.store;
    this.frame.hidden = whole;
    this.frame.style.left = `${(100 * look.from) / end}%`;
    this.frame.style.width = `${(100 * (look.to - look.from)) / end}%`;
  }
}
