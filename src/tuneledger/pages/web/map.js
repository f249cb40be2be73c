/** The map and its visits: how long in each cell, and with what mean difference. */

import { shownAxis, spell, spelled, title } from "#page/axes.js";
import { button, el } from "#page/dom.js";
import { duration, fixed, signed } from "#page/numbers.js";
import { betweenLogs, visitsOf } from "#page/visits.js";

/**
 * @typedef {import("#page/account.js").Log} Log
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/choose.js").Chooser} Chooser
 * @typedef {import("#page/types.js").PageData} PageData
 * @typedef {import("#page/types.js").MapData} MapData
 * @typedef {import("#page/visits.js").Cell} Cell
 */

const LISTED = 40; // visits of one cell
const LEAST_APART = 0.05; // degrees; below it nothing is to be seen of it
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
    root.replaceChildren(el("div", { class: "map-side" }, ...this.#choice(), this.sheet), this.list);
    store.listen((_, changed) => this.#follow(changed));
    this.#layerOfCause();
    this.build();
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
    const cell = (/** @type {number} */ index) =>
      this.layer < 0 ? this.#visited(index, largest, longest) : this.#apart(index, largest);
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

  /** @param {number} index */
  #box(index) {
    const asked = this.asked(index);
    const box = el("td", {}, el("span", { class: "asked" }, asked === null ? "" : fixed(asked, 1)));
    this.boxes[index] = box;
    return box;
  }

  /**
   * @param {HTMLElement} box
   * @param {number} value
   * @param {number} largest
   * @param {number} least below which it counts as no difference
   */
  #tint(box, value, largest, least) {
    box.classList.add(value > 0 ? "adds" : "takes");
    if (!(Math.abs(value) > least)) box.classList.add("agrees");
    const share = Math.min(1, Math.abs(value || 0) / largest);
    box.style.setProperty("--shade", share.toFixed(3));
  }

  /**
   * A cell by what another map says there.
   * @param {number} index
   * @param {number} largest
   */
  #apart(index, largest) {
    const box = this.#box(index);
    const apart = this.layers[this.layer].values[Math.floor(index / this.width)][index % this.width];
    const known = apart !== null;
    const same = known && Math.abs(apart) < LEAST_APART;
    const words = !known ? "" : same ? "0" : signed(apart, 1);
    const says = !known ? "not known" : same ? "the same" : `${signed(apart, 2)}°`;
    const choose = button("", () => this.store.set({ cell: index }), {
      "aria-pressed": "false",
      "aria-label": `${this.place(index)}: ${says}; ${this.#account(index)}`,
    });
    const { seconds } = this.cells[index];
    const driven = seconds ? duration(seconds) : same || !known ? "" : "not driven";
    choose.append(el("b", {}, words), el("small", {}, driven));
    box.append(choose);
    box.classList.toggle("same", same);
    this.#tint(box, known ? apart : 0, largest, LEAST_APART);
    return box;
  }

  /**
   * A cell by its visits.
   * @param {number} index
   * @param {number} largest mean difference on the map
   * @param {number} longest time in a cell
   */
  #visited(index, largest, longest) {
    const { mean, seconds, visits } = this.cells[index];
    const box = this.#box(index);
    if (!visits.length) return box;
    const shown = Number.isNaN(mean) ? "—" : signed(mean, 1);
    const stay = el("i", { class: "stay" });
    stay.style.width = `${Math.max(4, 100 * Math.sqrt(seconds / longest))}%`;
    const choose = button("", () => this.store.set({ cell: index }), {
      "aria-pressed": "false",
      "aria-label": `${this.place(index)}: ${this.#account(index)}`,
    });
    choose.append(el("b", {}, shown), el("small", {}, duration(seconds)), stay);
    box.append(choose);
    this.#tint(box, mean, largest, this.data.tolerance_deg);
    return box;
  }

  /** @param {number} index */
  place(index) {
    const [rows, columns] = this.axes;
    const column = spelled(columns, columns.at[index % this.width]);
    return rows.name ? `${spelled(rows, rows.at[Math.floor(index / this.width)])}, ${column}` : column;
  }

  /** @param {number} index */
  #account(index) {
    const { mean, seconds, visits } = this.cells[index];
    if (!visits.length) return "not driven";
    const times = visits.length === 1 ? "1 visit" : `${visits.length} visits`;
    const apart = Number.isNaN(mean) ? "no difference known" : `mean difference ${signed(mean, 2)}°`;
    return `${apart}, ${duration(seconds)} in ${times}`;
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
    const { log, cursor } = this.store.look;
    const { account } = this.logs[log];
    const cell = account && !Number.isNaN(cursor) ? account.line(account.rowAt(cursor)).cell : -1;
    const box = this.boxes[cell] ?? null;
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
      this.list.replaceChildren("Choose a cell to list its visits and to go to them.");
      return;
    }
    const { visits } = this.cells[cell];
    const longest = [...visits].sort((a, b) => b.seconds - a.seconds).slice(0, LISTED);
    const listed = longest.sort((a, b) => a.log - b.log || a.from - b.from);
    this.list.replaceChildren(
      el("h3", {}, this.place(cell)),
      el("p", {}, `${capital(this.#account(cell))}.`),
      el("ul", {}, ...listed.map((visit) => el("li", {}, this.#visit(visit)))),
    );
    if (visits.length > LISTED) {
      this.list.append(el("p", {}, `The longest ${LISTED} of ${visits.length} visits.`));
    }
    this.list.append(...this.more(cell));
  }

  /** @param {import("#page/visits.js").Visit} visit */
  #visit({ log, from, to, seconds, mean }) {
    const file = this.logs.length > 1 ? `${this.logs[log].file}, ` : "";
    const apart = Number.isNaN(mean) ? "not known" : `${signed(mean, 2)}°`;
    const go = button("", () => this.chooser.stretch(log, from, to), { class: "visit" });
    go.append(
      el("span", {}, `${file}${fixed(from, 2)} to ${fixed(to, 2)} s`),
      el("span", {}, duration(seconds)),
      el("b", {}, apart),
    );
    return go;
  }
}

/** @param {string} text */
function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
