/** What if: edits in place, and what they would have done on these drives. */

import { button, el } from "#page/dom.js";
import { inflate, unpack } from "#page/unpack.js";
import { tell } from "#desk/busy.js";
import { bindCells, note, placeOf } from "#desk/cells.js";
import { send } from "#desk/send.js";

/**
 * @typedef {import("#page/page.js").Page} Page
 * @typedef {{ place: string, to: boolean | number }} Edit
 * @typedef {{ what: string, mean: string, peak: string, seconds: string }} Move
 * @typedef {{ file: string, headline: string, moves: Move[], notes: string[] }} Rehearsed
 * @typedef {{ place: string, before: string, after: string }} Change
 *
 * @typedef {object} Answer
 * @property {Change[]} changes
 * @property {number} unlisted changes that are not in the list
 * @property {Rehearsed[]} logs
 * @property {(import("#page/types.js").Packed | null)[]} rehearsed
 * @property {string} samples
 * @property {string} caution
 *
 * @typedef {{ at: number[][], revision: string, values: (number | null)[][] }} SheetMap
 */

const RESTS = 200; // milliseconds without a further change before it is rehearsed

/** @param {Page} page */
export function bindWhatIf(page) {
  const root = document.getElementById("what-if");
  if (root) new WhatIf(root, page);
}

class WhatIf {
  /**
   * @param {HTMLElement} root
   * @param {Page} page
   */
  constructor(root, page) {
    this.page = page;
    this.result = /** @type {HTMLElement} */ (root.querySelector("#rehearsal"));
    this.fields = /** @type {HTMLInputElement[]} */ ([...root.querySelectorAll("input[data-place]")]);
    this.map = /** @type {SheetMap | null} */ (JSON.parse(root.dataset["map"] ?? "null"));
    /** Edits of cells of tables of two axes, by their places. @type {Map<string, number>} */
    this.cells = new Map(Object.entries(JSON.parse(root.dataset["edits"] ?? "{}")));
    const tables = /** @type {NodeListOf<HTMLDetailsElement>} */ (root.querySelectorAll("details.cells"));
    this.tables = [...tables].map((table) => bindCells(table, this.cells, () => this.#soon()));
    this.whole = /** @type {HTMLSelectElement | null} */ (root.querySelector("#whole"));
    this.sheet = /** @type {HTMLFieldSetElement} */ (root.querySelector("#edits"));
    this.whole?.addEventListener("change", () => {
      this.sheet.disabled = this.to !== "";
      void this.rehearse();
    });
    this.waiting = 0;
    /** The field beside the page's own map. @type {{ field: HTMLInputElement, place: string, was: number | null } | null} */
    this.beside = null;
    for (const field of this.fields) field.addEventListener("input", () => this.#soon());
    if (page.map && this.#sameGrid()) page.map.more = (cell) => this.#cellField(cell);
    page.map?.show();
    this.#mark();
    if (this.edits.length || this.to) void this.rehearse();
  }

  /** File of the sheet that is rehearsed in place of edits. */
  get to() {
    return this.whole?.value ?? "";
  }

  /** Every edit that is in the fields. @returns {Edit[]} */
  get edits() {
    const changed = this.fields.filter(isChanged).map(({ dataset, type, checked, value }) => ({
      place: dataset["place"] ?? "",
      to: type === "checkbox" ? checked : Number(value),
    }));
    return [...changed, ...[...this.cells].map(([place, to]) => ({ place, to }))];
  }

  #soon() {
    this.#mark();
    clearTimeout(this.waiting);
    this.waiting = setTimeout(() => this.rehearse(), RESTS);
  }

  #mark() {
    for (const field of this.fields) field.classList.toggle("changed", isChanged(field));
    for (const follow of this.tables) follow();
    const { beside } = this;
    if (beside && beside.field !== document.activeElement) {
      beside.field.value = String(this.cells.get(beside.place) ?? beside.was ?? "");
    }
  }

  async rehearse() {
    const { edits, to } = this;
    try {
      const found = /** @type {Answer} */ (await send("PUT", "edits", { edits, to }));
      await this.#draw(found);
      this.#show(found);
      for (const link of document.querySelectorAll("#saves .edited")) {
        /** @type {HTMLElement} */ (link).hidden = !edits.length || to !== "";
      }
    } catch (problem) {
      this.result.replaceChildren(el("p", { class: "fault" }, String(problem instanceof Error ? problem.message : problem)));
      tell("The last change of the sheet was not taken over: see What if.");
    }
  }

  /**
   * The rehearsed line, in strips and slip.
   * @param {Answer} found
   */
  async #draw({ rehearsed, samples }) {
    const bytes = rehearsed.some(Boolean) ? await inflate(samples) : new Uint8Array();
    this.page.logs.forEach(({ account }, i) => {
      const packed = rehearsed[i];
      account?.rehearse(packed ? unpack(bytes, packed) : null);
    });
    this.page.board.build();
    this.page.slip.build();
  }

  /** @param {Answer} found */
  #show({ changes, unlisted, logs, caution }) {
    if (!changes.length) {
      this.result.replaceChildren();
      return;
    }
    const back = button("Put everything back", () => this.#back());
    const said = changes.map(({ place, before, after }) => el("li", {}, `${place}: ${before} → ${after}`));
    if (unlisted) said.push(el("li", {}, `and ${unlisted} more`));
    this.result.replaceChildren(
      el("ul", { class: "changes" }, ...said),
      ...logs.flatMap((log) => this.#log(log, logs.length > 1)),
      el("p", { class: "cautions" }, caution),
      el("p", {}, back),
    );
  }

  /**
   * @param {Rehearsed} log
   * @param {boolean} several
   */
  #log({ file, headline, moves, notes }, several) {
    const head = el("h3", { class: headline.startsWith("Care") ? "care" : "" }, several ? `${file}: ${headline}` : headline);
    const heads = ["What moves", "Mean", "At most", "For"].map((text) => el("th", { scope: "col" }, text));
    const rows = moves.map(({ what, mean, peak, seconds }) =>
      el("tr", {}, el("th", { scope: "row" }, what), ...[mean, peak, seconds].map((text) => el("td", {}, text))),
    );
    const table = el("table", {}, el("thead", {}, el("tr", {}, ...heads)), el("tbody", {}, ...rows));
    const list = el("ul", { class: "soft" }, ...notes.map((text) => el("li", {}, text)));
    return [head, ...(rows.length ? [table] : []), list];
  }

  #back() {
    for (const field of this.fields) {
      if (field.type === "checkbox") field.checked = field.dataset["was"] === "true";
      else field.value = field.dataset["was"] ?? "";
    }
    if (this.whole) this.whole.value = "";
    this.sheet.disabled = false;
    this.cells.clear();
    this.page.map?.show();
    this.#mark();
    void this.rehearse();
  }

  /** Whether the map on the page has the cells of the sheet that is edited. */
  #sameGrid() {
    const shown = this.page.data.map;
    const own = [shown?.rows.at, shown?.columns.at];
    return this.map !== null && JSON.stringify(own) === JSON.stringify(this.map.at);
  }

  /**
   * The field that changes a cell of the main map.
   * @param {number} cell
   * @returns {Node[]}
   */
  #cellField(cell) {
    const width = this.page.map?.width ?? 1;
    const [row, column] = [Math.floor(cell / width), cell % width];
    const was = this.map?.values[row][column] ?? null;
    const place = placeOf("spark.map", row, column);
    const field = /** @type {HTMLInputElement} */ (
      el("input", { type: "number", step: "0.5", value: String(this.cells.get(place) ?? was ?? ""), size: "6" })
    );
    field.addEventListener("input", () => {
      note(this.cells, place, field, was);
      this.#soon();
    });
    this.beside = { field, place, was };
    const says = was === null ? "not known" : `${String(was).replace("-", "−")}°`;
    return [el("p", { class: "cell-edit" }, el("label", {}, `What if revision ${this.map?.revision} asked here for `, field, " °"), ` (it asks for ${says})`)];
  }
}

/** @param {HTMLInputElement} field */
function isChanged({ type, checked, value, dataset }) {
  const { was } = dataset;
  if (type === "checkbox") return String(checked) !== was;
  return value !== "" && Number.isFinite(Number(value)) && (was === "" || Number(value) !== Number(was));
}
