/**
 * The one sheet that lies under all strips on the screen. A browser copies every canvas that can be
 * drawn on whenever anything on the page moves, if only the cursor: so the one that is drawn on is
 * shown while the window moves, and once that rests, another that only holds the picture.
 */

import { el, sized } from "#page/dom.js";
import { Pixels } from "#page/pixels.js";

const RESTS = 150; // milliseconds without a change after which a picture will do

export class Sheet {
  constructor() {
    const canvas = () => /** @type {HTMLCanvasElement} */ (el("canvas", { "aria-hidden": "true" }));
    this.live = canvas();
    this.still = canvas();
    this.still.hidden = true;
    this.root = el("div", { class: "sheet" }, this.live, this.still);
    this.pixels = new Pixels(1, 1);
    this.timer = 0;
    this.drawn = 0;
    this.places = "";
  }

  /**
   * Lay it out.
   * @param {number} width CSS pixels
   * @param {number} height
   * @param {number} ratio device pixels per CSS pixel
   * @param {string} places what lies where; where that changes, nothing of it stays between them
   */
  unroll(width, height, ratio, places) {
    if (places !== this.places) this.live.width = 0;
    this.places = places;
    sized(this.live, width, height, ratio);
  }

  /**
   * Pixels to draw a strip on, the same for every strip.
   * @param {number} width device pixels
   * @param {number} height
   */
  take(width, height) {
    const { image } = this.pixels;
    if (image.width !== width || image.height < height) this.pixels = new Pixels(width, height);
    this.pixels.height = height;
    return this.pixels;
  }

  /**
   * Put what was drawn where it belongs.
   * @param {number} top device pixels
   * @param {HTMLCanvasElement} [canvas] another one than the sheet
   */
  put(top, canvas = this.live) {
    const { image, width, height } = this.pixels;
    canvas.getContext("2d")?.putImageData(image, 0, top, 0, 0, width, height);
  }

  /** Show what was put. */
  show() {
    this.live.hidden = false;
    this.still.hidden = true;
    this.drawn++;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.#rest(), RESTS);
  }

  async #rest() {
    const { drawn, live, still } = this;
    if (!live.width || !live.height) return;
    const picture = await createImageBitmap(live);
    if (drawn !== this.drawn) return picture.close();
    still.getContext("bitmaprenderer")?.transferFromImageBitmap(picture);
    still.hidden = false;
    live.hidden = true;
  }
}
