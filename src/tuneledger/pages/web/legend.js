/** What lines and fillings mean, in words and signs beside every colour. */

import { el, fitted } from "#page/dom.js";
import { filling } from "#page/ink.js";
import { extremes } from "#page/series.js";
import { BROAD } from "#page/strips.js";

/**
 * @typedef {import("#page/account.js").Account} Account
 * @typedef {import("#page/ink.js").Ink} Ink
 * @typedef {(c: CanvasRenderingContext2D, ratio: number) => void} Paint
 */

const [WIDE, HIGH] = [22, 13];
const LEAST = 0.005; // degrees; what is smaller is not to be seen

/**
 * @param {string} kind
 * @param {Account} account
 * @param {Ink} ink
 * @returns {HTMLElement[]}
 */
export function legend(kind, account, ink) {
  if (kind === "balance") return [list(balance(ink, account.rehearsedSeries !== null))];
  return kind === "entries" ? [list(entries(account, ink))] : [];
}

/** @param {HTMLElement[]} items */
function list(items) {
  return el("ul", { class: "legend" }, ...items);
}

/**
 * @param {Ink} ink
 * @param {boolean} rehearsed
 */
function balance(ink, rehearsed) {
  const stroke = (/** @type {number} */ width, /** @type {number[]} */ dashes, alpha = 1) =>
    /** @type {Paint} */ (
      (c) => {
        c.globalAlpha = alpha;
        c.strokeStyle = ink.ink;
        c.lineWidth = width;
        c.setLineDash(dashes);
        c.beginPath();
        c.moveTo(0, HIGH / 2);
        c.lineTo(WIDE, HIGH / 2);
        c.stroke();
      }
    );
  const plain = (/** @type {string} */ colour) =>
    /** @type {Paint} */ (
      (c) => {
        c.globalAlpha = 0.38;
        c.fillStyle = colour;
        c.fillRect(0, 0, WIDE, HIGH);
      }
    );
  return [
    item(stroke(1.2, [5, 3]), "scheduled"),
    item(stroke(1.9, []), "delivered"),
    ...(rehearsed ? [item(stroke(BROAD.width, [], BROAD.alpha), "rehearsed")] : []),
    item(plain(ink.below), "− below scheduled"),
    item(plain(ink.above), "+ above scheduled"),
  ];
}

/**
 * Entries that act anywhere in this log, each with the sign or signs that it takes.
 * @param {Account} account
 * @param {Ink} ink
 */
function entries(account, ink) {
  const all = [
    ...account.entries.map((entry, place) => ({ ...entry, place })),
    { title: "Unaccounted", basis: "", values: account.unaccounted, place: -1 },
  ];
  const items = [];
  for (const { title, values, place } of all) {
    const [low, high] = extremes(values);
    const [takes, adds] = [low < -LEAST, high > LEAST];
    const unknown = values.some(Number.isNaN) && place >= 0;
    if (!takes && !adds && !unknown) continue;
    const sign = takes && adds ? "±" : adds ? "+" : takes ? "−" : "";
    const words = `${sign} ${title}${unknown ? " (not computable at times)" : ""}`.trim();
    items.push(item(swatch(ink, place, takes, adds), words));
  }
  return items.length ? items : [el("li", {}, "nothing was added or taken")];
}

/**
 * @param {Ink} ink
 * @param {number} place
 * @param {boolean} takes
 * @param {boolean} adds
 * @returns {Paint}
 */
function swatch(ink, place, takes, adds) {
  return (c, ratio) => {
    const both = takes && adds && place >= 0;
    const colour = place < 0 ? ink.ink : adds ? ink.above : ink.below;
    c.fillStyle = filling(c, colour, place, ratio);
    c.fillRect(0, 0, WIDE, both ? HIGH / 2 : HIGH);
    if (!both) return;
    c.fillStyle = filling(c, ink.below, place, ratio);
    c.fillRect(0, HIGH / 2, WIDE, HIGH / 2);
  };
}

/**
 * @param {Paint} paint
 * @param {string} words
 */
function item(paint, words) {
  const canvas = /** @type {HTMLCanvasElement} */ (el("canvas"));
  const ratio = Math.max(2, devicePixelRatio || 1);
  const c = fitted(canvas, WIDE, HIGH, ratio);
  if (c) paint(c, ratio);
  // a picture costs the browser nothing when the cursor moves; a canvas is looked at every time
  return el("li", {}, el("img", { src: canvas.toDataURL(), alt: "" }), words);
}
