/** The map and its visits: how long in each cell, and with what mean difference. */

import { shownAxis, spell, spelled, title } from "#page/axes.js";
import { apartCell, visitedCell } from "#page/cell.js";
import { el } from "#page/dom.js";
import { NOTHING_CHOSEN, listOfVisits } from "#page/listed.js";
import { onPrinting } from "#page/print.js";
import { betweenLogs, visitsOf } from "#page/visits.js";

/**
 * @typedef {import("#page/account.js").Log} Log
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/choose.js").Chooser} Chooser
 * @typedef {import("#page/types.js").PageData} PageData
 * @typedef {import("#page/types.js").MapData} MapData
 * @typedef {import("#page/visits.js").Cell} Cell
 */

const LEAST_FULL = 2; // degrees for which the deepest shade stands at least

export class VisitMap {
  /**
   * @param {HTMLElement} root
   * @param {Store} store
   * @param {Log[]} logs
   * @param {PageData} data
   * @param {Chooser} chooser
   */
  constructor(root, store, logs, data, chooser) {
    this.store = store;
    this.logs = logs;
    this.data = data;
    this.chooser = chooser;
    this.map = /** @type {MapData} */ (data.map);
    const { rows, columns } = this.map;
    this.width = columns.at.length;
    this.cells = visitsOf(logs, rows.at.length * this.width);
    this.layers = [...this.map.layers, ...betweenLogs(logs, rows.at.length, this.width)];
    this.list = el("div", { class: "visits" });
    this.sheet = el("div", { class: "map-scroll" });
    /** Index of the layer that the cells show; −1 for the visits. */
    this.layer = -1;
    /** What somebody adds to the visits of a chosen cell. @type {(cell: number) => Node[]} */
    this.more = () => [];
    /** @type {HTMLElement[]} */
    this.boxes = [];
    /** @type {HTMLElement | null} */
    this.lit = null;
    /** Whether it is on the screen: off it, it does not follow the cursor. */
    this.seen = false;
    root.replaceChildren(el("div", { class: "map-side" }, ...this.#choice(), this.sheet), this.list);
    store.listen((_, changed) => this.#follow(changed));
    this.#layerOfCause();
    this.build();
    new IntersectionObserver((entries) => this.#see(entries[entries.length - 1].isIntersecting)).observe(root);
    onPrinting((printing) => this.#see(printing || this.seen));
  }

  /** @param {boolean} seen */
  #see(seen) {
    this.seen = seen;
    this.#light();
  }

  /** Which numbers the cells show, where there is a choice. */
  #choice() {
    const titles = ["visits: mean difference", ...this.layers.map(({ title }) => title)];
    this.select = /** @type {HTMLSelectElement} */ (
      el("select", {}, ...titles.map((title, i) => el("option", { value: String(i - 1) }, title)))
    );
    this.select.addEventListener("change", () => {
      this.layer = Number(this.select?.value);
      this.build();
    });
    return titles.length > 1 ? [el("label", { class: "map-choice" }, "Cells show ", this.select)] : [];
  }

  /** A cause that is another map brings up how that one differs. */
  #layerOfCause() {
    this.layer = this.data.causes[this.store.look.cause]?.layer ?? -1;
    if (this.select) this.select.value = String(this.layer);
  }

  build() {
    this.lit = null;
    this.sheet.replaceChildren(this.#table());
    this.#mark();
    this.#light();
    this.show();
  }

  #table() {
    const [rows, columns] = this.axes;
    const numbers = this.layer < 0 ? this.cells.map(({ mean }) => mean) : this.layers[this.layer].values.flat();
    const sizes = numbers.map((value) => Math.abs(value ?? 0)).filter(Number.isFinite);
    const largest = Math.max(LEAST_FULL, ...sizes);
    const longest = Math.max(...this.cells.map((cell) => cell.seconds), 1e-9);
    const cell = (/** @type {number} */ index) => this.#cell(index, largest, longest);
    const heads = columns.at.map((v) => el("th", { scope: "col" }, spell(columns, v)));
    const body = rows.at.map((v, r) =>
      el(
        "tr",
        {},
        el("th", { scope: "row" }, rows.name ? spell(rows, v) : ""),
        ...columns.at.map((_, c) => cell(r * this.width + c)),
      ),
    );
    return el(
      "table",
      { class: "map" },
      el("caption", {}, rows.name ? `↓ ${title(rows)}` : "", el("span", {}, `→ ${title(columns)}`)),
      el("thead", {}, el("tr", {}, el("td", {}), ...heads)),
      el("tbody", {}, ...body),
    );
  }

  /** Rows and columns in the chosen units. */
  get axes() {
    return [this.map.rows, this.map.columns].map((axis) => shownAxis(axis, this.store.look));
  }

  /** @param {number} index */
  asked(index) {
    return this.map.values[Math.floor(index / this.width)][index % this.width];
  }

  /**
   * @param {number} index
   * @param {number} largest
   * @param {number} longest
   */
  #cell(index, largest, longest) {
    const visited = this.cells[index];
    const [asked, name] = [this.asked(index), this.place(index)];
    const place = { asked, name, visited, choose: () => this.store.set({ cell: index }) };
    const row = this.layers[this.layer]?.values[Math.floor(index / this.width)];
    const box = row
      ? apartCell(place, row[index % this.width], largest)
      : visitedCell(place, largest, longest, this.data.tolerance_deg);
    this.boxes[index] = box;
    return box;
  }

  /** @param {number} index */
  place(index) {
    const [rows, columns] = this.axes;
    const column = spelled(columns, columns.at[index % this.width]);
    return rows.name ? `${spelled(rows, rows.at[Math.floor(index / this.width)])}, ${column}` : column;
  }

  /** @param {Set<string>} changed */
  #follow(changed) {
    const before = this.layer;
    if (changed.has("cause")) this.#layerOfCause();
    const rebuilt = before !== this.layer || changed.has("pressure") || changed.has("temperature");
    if (rebuilt) this.build();
    else if (changed.has("cause")) this.#mark();
    if (changed.has("cell") && !rebuilt) this.show();
    if (changed.has("cursor") || changed.has("log")) this.#light();
  }

  /** Outline the cells that the chosen cause concerns. */
  #mark() {
    const concerned = new Set(this.data.causes[this.store.look.cause]?.cells ?? []);
    this.boxes.forEach((box, i) => box.classList.toggle("concerned", concerned.has(i)));
  }

  /** Show where the cursor is. */
  #light() {
    if (!this.seen) return;
    const { log, cursor } = this.store.look;
    const { account } = this.logs[log];
    const cell = Number.isNaN(cursor) ? NaN : account?.cells?.[account.rowAt(cursor)];
    const box = this.boxes[cell ?? NaN] ?? null;
    if (box === this.lit) return;
    this.lit?.classList.remove("here");
    box?.classList.add("here");
    this.lit = box;
  }

  /** List the visits of the chosen cell. */
  show() {
    const { cell } = this.store.look;
    this.boxes.forEach((box, i) => {
      box.classList.toggle("chosen", i === cell);
      box.querySelector("button")?.setAttribute("aria-pressed", String(i === cell));
    });
    if (!(cell in this.cells)) {
      this.list.replaceChildren(NOTHING_CHOSEN);
      return;
    }
    const listed = listOfVisits(this.cells[cell], this.place(cell), this.logs, this.chooser);
    this.list.replaceChildren(...listed, ...this.more(cell));
  }
}
