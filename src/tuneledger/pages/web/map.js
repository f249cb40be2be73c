/** The map and its visits: how long in each cell, and with what mean difference. */

import { button, el, put } from "#page/dom.js";
import { duration, fixed, placesOf, signed, withUnit } from "#page/numbers.js";
import { visitsOf } from "#page/visits.js";

/**
 * @typedef {import("#page/account.js").Log} Log
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/choose.js").Chooser} Chooser
 * @typedef {import("#page/types.js").PageData} PageData
 * @typedef {import("#page/types.js").MapData} MapData
 * @typedef {import("#page/visits.js").Cell} Cell
 */

const LISTED = 40; // visits of one cell
const FULL = 0.62; // strength of the deepest shade: ink stays readable on it
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
    this.list = el("div", { class: "visits" });
    /** @type {HTMLElement[]} */
    this.boxes = [];
    /** @type {HTMLElement | null} */
    this.lit = null;
    root.replaceChildren(el("div", { class: "map-scroll" }, this.#table()), this.list);
    store.listen((_, changed) => this.#follow(changed));
    this.#mark();
    this.#show();
  }

  #table() {
    const { rows, columns } = this.map;
    const largest = Math.max(LEAST_FULL, ...this.cells.map((c) => Math.abs(c.mean)).filter(Number.isFinite));
    const longest = Math.max(...this.cells.map((cell) => cell.seconds), 1e-9);
    const across = el("th", { class: "across", colspan: String(this.width), scope: "colgroup" },
      `${title(columns)} →`);
    const heads = columns.at.map((v) => el("th", { scope: "col" }, spell(columns, v)));
    const body = rows.at.map((v, r) =>
      el(
        "tr",
        {},
        el("th", { scope: "row" }, rows.name ? spell(rows, v) : ""),
        ...columns.at.map((_, c) => this.#cell(r * this.width + c, largest, longest)),
      ),
    );
    return el(
      "table",
      { class: "map" },
      el("thead", {},
        el("tr", {}, el("th", { class: "down", rowspan: "2" }, rows.name ? `${title(rows)} ↓` : ""), across),
        el("tr", {}, ...heads)),
      el("tbody", {}, ...body),
    );
  }

  /**
   * @param {number} index
   * @param {number} largest mean difference on the map
   * @param {number} longest time in a cell
   */
  #cell(index, largest, longest) {
    const { mean, seconds, visits } = this.cells[index];
    const asked = this.map.values[Math.floor(index / this.width)][index % this.width];
    const base = el("span", { class: "asked" }, asked === null ? "" : fixed(asked, 1));
    const box = el("td", {}, base);
    this.boxes[index] = box;
    if (!visits.length) return box;
    const shown = Number.isNaN(mean) ? "—" : signed(mean, 1);
    const stay = el("i", { class: "stay" });
    stay.style.width = `${Math.max(4, 100 * Math.sqrt(seconds / longest))}%`;
    const choose = button("", () => this.store.set({ cell: index }), {
      "aria-pressed": "false",
      "aria-label": `${this.#place(index)}: ${this.#account(index)}`,
    });
    choose.append(el("b", {}, shown), el("small", {}, duration(seconds)), stay);
    box.append(choose);
    box.classList.add(mean > 0 ? "adds" : "takes");
    if (!(Math.abs(mean) > this.data.tolerance_deg)) box.classList.add("agrees");
    box.style.setProperty("--shade", `${(FULL * 100 * Math.min(1, Math.abs(mean || 0) / largest)).toFixed(1)}%`);
    return box;
  }

  /** @param {number} index */
  #place(index) {
    const { rows, columns } = this.map;
    const column = spelled(columns, columns.at[index % this.width]);
    return rows.name ? `${spelled(rows, rows.at[Math.floor(index / this.width)])}, ${column}` : column;
  }

  /** @param {number} index */
  #account(index) {
    const { mean, seconds, visits } = this.cells[index];
    const times = visits.length === 1 ? "1 visit" : `${visits.length} visits`;
    const apart = Number.isNaN(mean) ? "no difference known" : `mean difference ${signed(mean, 2)}°`;
    return `${apart}, ${duration(seconds)} in ${times}`;
  }

  /** @param {Set<string>} changed */
  #follow(changed) {
    if (changed.has("cause")) this.#mark();
    if (changed.has("cell")) this.#show();
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
  #show() {
    const { cell } = this.store.look;
    this.boxes.forEach((box, i) => {
      box.classList.toggle("chosen", i === cell);
      box.querySelector("button")?.setAttribute("aria-pressed", String(i === cell));
    });
    if (cell < 0) {
      put(this.list, "Choose a cell to list its visits and to go to them.");
      return;
    }
    const { visits } = this.cells[cell];
    const longest = [...visits].sort((a, b) => b.seconds - a.seconds).slice(0, LISTED);
    const listed = longest.sort((a, b) => a.log - b.log || a.from - b.from);
    this.list.replaceChildren(
      el("h3", {}, this.#place(cell)),
      el("p", {}, `${capital(this.#account(cell))}.`),
      el("ul", {}, ...listed.map((visit) => el("li", {}, this.#visit(visit)))),
    );
    if (visits.length > LISTED) {
      this.list.append(el("p", {}, `The longest ${LISTED} of ${visits.length} visits.`));
    }
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

/** @param {import("#page/types.js").AxisData} axis */
function title({ name, unit }) {
  return unit ? `${name}, ${withUnit("", unit).trim()}` : name;
}

/**
 * @param {import("#page/types.js").AxisData} axis
 * @param {number} value
 */
function spell({ at }, value) {
  const steps = at.slice(1).map((v, i) => v - at[i]);
  const whole = at.every(Number.isInteger);
  return fixed(value, whole ? 0 : Math.max(1, placesOf(Math.min(1, ...steps))));
}

/**
 * @param {import("#page/types.js").AxisData} axis
 * @param {number} value
 */
function spelled(axis, value) {
  return withUnit(spell(axis, value), axis.unit);
}

/** @param {string} text */
function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
