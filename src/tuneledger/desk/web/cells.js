/** The cells of a table of two axes, as fields: made once somebody opens the table. */

import { el, put } from "#page/dom.js";

/**
 * @typedef {object} Cells
 * @property {string} place of the table in its sheet
 * @property {string} title
 * @property {string} over  what lies down and across
 * @property {string[][]} heads points of both axes, as bare numbers
 * @property {string[][]} at the same with their units
 * @property {(number | null)[][]} values null: not known
 */

/**
 * The place of one cell.
 * @param {string} table
 * @param {number} row
 * @param {number} column
 */
export function placeOf(table, row, column) {
  return `${table}.values[${row}][${column}]`;
}

/**
 * Note what a field asks for, or that it asks for what the sheet has.
 * @param {Map<string, number>} edits
 * @param {string} place
 * @param {HTMLInputElement} field
 * @param {number | null} was
 */
export function note(edits, place, field, was) {
  const to = Number(field.value);
  if (field.value === "" || !Number.isFinite(to) || to === was) edits.delete(place);
  else edits.set(place, to);
}

/**
 * @param {HTMLDetailsElement} details
 * @param {Map<string, number>} edits by place
 * @param {() => void} changed
 * @returns {() => void} shows the edits as they are now
 */
export function bindCells(details, edits, changed) {
  const table = /** @type {Cells} */ (JSON.parse(details.dataset["cells"] ?? ""));
  const words = details.querySelector("summary");
  const says = words?.textContent ?? "";
  /** @type {{ field: HTMLInputElement, place: string, was: number | null }[]} */
  const fields = [];
  const follow = () => {
    const count = [...edits.keys()].filter((place) => place.startsWith(`${table.place}.values[`)).length;
    if (words) put(words, count ? `${says}, ${count} changed` : says);
    for (const { field, place, was } of fields) {
      field.classList.toggle("changed", edits.has(place));
      if (field !== document.activeElement) field.value = String(edits.get(place) ?? was ?? "");
    }
  };
  const cell = (/** @type {number} */ row, /** @type {number} */ column) => {
    const was = table.values[row][column];
    const place = placeOf(table.place, row, column);
    const name = `${table.title} at ${table.at[0][row]}, ${table.at[1][column]}`;
    const field = /** @type {HTMLInputElement} */ (
      el("input", { type: "number", step: "0.5", "aria-label": name, placeholder: was === null && "?" })
    );
    field.addEventListener("input", () => {
      note(edits, place, field, was);
      changed();
    });
    fields.push({ field, place, was });
    return el("td", {}, field);
  };
  const build = () => {
    const [down, across] = table.heads;
    const heads = across.map((at) => el("th", { scope: "col" }, at));
    const rows = down.map((at, r) =>
      el("tr", {}, el("th", { scope: "row" }, at), ...across.map((_, c) => cell(r, c))),
    );
    const made = el(
      "table",
      {},
      el("caption", {}, table.over),
      el("thead", {}, el("tr", {}, el("td"), ...heads)),
      el("tbody", {}, ...rows),
    );
    details.querySelector("div")?.replaceChildren(made);
    follow();
  };
  details.addEventListener("toggle", () => {
    if (details.open && !fields.length) build();
  });
  follow();
  return follow;
}
