/**
 * Words on the paper of a strip, with a rim of paper so that they are readable over lines. A rim is
 * dear to draw and the same numbers come again with every turn of the wheel: each is drawn once.
 */

/**
 * @typedef {{ image: OffscreenCanvas, width: number, base: number }} Written
 *   sizes in CSS pixels; `base`: from the top of the image to the middle of the letters
 */

const RIM = 3.5;
const AIR = 3; // around the letters, CSS pixels
const HIGH = 14; // of a line at 11 px
const MOST = 600; // words that are kept

/** @type {Map<string, Written>} */
const kept = new Map();

/**
 * @param {string} text
 * @param {{ font: string, paper: string }} ink
 * @param {string} colour
 * @param {number} ratio device pixels per CSS pixel
 * @returns {Written}
 */
function written(text, { font, paper }, colour, ratio) {
  const key = [text, font, paper, colour, ratio].join("\u0000");
  const known = kept.get(key);
  if (known) return known;
  if (kept.size >= MOST) kept.clear();
  const measured = /** @type {OffscreenCanvasRenderingContext2D} */ (
    new OffscreenCanvas(1, 1).getContext("2d")
  );
  measured.font = font;
  const width = Math.ceil(measured.measureText(text).width) + 2 * AIR;
  const height = HIGH + 2 * AIR;
  const image = new OffscreenCanvas(Math.ceil(width * ratio), Math.ceil(height * ratio));
  const c = /** @type {OffscreenCanvasRenderingContext2D} */ (image.getContext("2d"));
  c.scale(ratio, ratio);
  c.font = font;
  c.textBaseline = "middle";
  c.lineJoin = "round";
  c.lineWidth = RIM;
  c.strokeStyle = paper;
  c.strokeText(text, AIR, height / 2);
  c.fillStyle = colour;
  c.fillText(text, AIR, height / 2);
  const made = { image, width, base: height / 2 };
  kept.set(key, made);
  return made;
}

/**
 * Write words with their left, or right, end at `x` and their middle at `y`.
 * @param {import("#page/pen.js").Pen} pen
 * @param {string} text
 * @param {number} x
 * @param {number} y
 * @param {string} colour
 * @param {"left" | "right"} [end]
 * @returns {number} how broad they are, CSS pixels
 */
export function write({ c, ink, ratio }, text, x, y, colour, end = "left") {
  const { image, width, base } = written(text, ink, colour, ratio);
  const left = end === "left" ? x - AIR : x - width + AIR;
  const whole = (/** @type {number} */ at) => Math.round(at * ratio) / ratio; // or it blurs
  c.drawImage(image, whole(left), whole(y - base), image.width / ratio, image.height / ratio);
  return width - 2 * AIR;
}
