/** The page's colours, read from its style sheet, and the hatchings that tell entries apart. */

/**
 * @typedef {object} Ink
 * @property {string} paper
 * @property {string} ink
 * @property {string} soft   words of second rank
 * @property {string} grid
 * @property {string} below  the blue: taken, delivered below scheduled
 * @property {string} above  the orange: added, delivered above scheduled
 * @property {string} wash   over the windows of episodes
 * @property {string} chosen over the windows of the chosen cause
 * @property {string} font
 */

const NAMES = /** @type {const} */ ([
  "paper", "ink", "soft", "grid", "below", "above", "wash", "chosen",
]);

/** @returns {Ink} */
export function readInk() {
  const style = getComputedStyle(document.documentElement);
  const font = `11px ${getComputedStyle(document.body).fontFamily}`;
  const colours = Object.fromEntries(
    NAMES.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]),
  );
  return /** @type {Ink} */ ({ ...colours, font });
}

/** @type {Map<string, { packed: number, alpha: number }>} */
const read = new Map();

/**
 * A colour of the style sheet, `#rrggbb` or `rgb(r g b / a%)`, as a pixel has it.
 * @param {string} css
 */
export function rgb(css) {
  const known = read.get(css);
  if (known) return known;
  const parts = css.startsWith("#")
    ? [1, 3, 5].map((at) => Number.parseInt(css.slice(at, at + 2), 16))
    : (css.match(/[\d.]+/g) ?? []).map(Number);
  const [r = 0, g = 0, b = 0, share = 100] = parts;
  const made = { packed: (0xff000000 | (b << 16) | (g << 8) | r) >>> 0, alpha: share / 100 };
  read.set(css, made);
  return made;
}

/** Strokes of one tile, in a square of 6 units. */
const HATCHINGS = /** @type {((c: CanvasRenderingContext2D) => void)[]} */ ([
  () => {},
  (c) => lines(c, [[-1, 7, 7, -1], [-1, 1, 1, -1], [5, 7, 7, 5]]),
  (c) => {
    c.beginPath();
    c.arc(3, 3, 1.15, 0, 7);
    c.fill();
  },
  (c) => lines(c, [[3, 0, 3, 6]]),
  (c) => lines(c, [[-1, -1, 7, 7], [5, -1, 7, 1], [-1, 5, 1, 7]]),
  (c) => lines(c, [[0, 3, 6, 3]]),
]);
const CROSSED = HATCHINGS.length; // what nobody accounts for

/**
 * @param {CanvasRenderingContext2D} c
 * @param {number[][]} ends
 */
function lines(c, ends) {
  c.beginPath();
  for (const [x0, y0, x1, y1] of ends) {
    c.moveTo(x0, y0);
    c.lineTo(x1, y1);
  }
  c.stroke();
}

/** @type {Map<string, CanvasPattern>} */
const made = new Map();

/**
 * The filling of an entry: a tint of its sign's colour, hatched after its place in the list.
 * @param {CanvasRenderingContext2D} context
 * @param {string} colour
 * @param {number} place of the entry; −1 for what is unaccounted
 * @param {number} ratio device pixels per CSS pixel
 * @returns {CanvasPattern | string}
 */
export function filling(context, colour, place, ratio) {
  const kind = place < 0 ? CROSSED : place % HATCHINGS.length;
  const key = `${colour} ${kind} ${ratio}`;
  const known = made.get(key);
  if (known) return known;
  const pattern = context.createPattern(tile(colour, kind, ratio), "repeat");
  if (!pattern) return colour;
  pattern.setTransform(new DOMMatrix().scale(1 / ratio));
  made.set(key, pattern);
  return pattern;
}

/** @type {Map<string, import("#page/pixels.js").Tile>} */
const hatched = new Map();

/**
 * The same filling, as pixels.
 * @param {string} colour
 * @param {number} place of the entry; −1 for what is unaccounted
 * @param {number} ratio device pixels per CSS pixel
 */
export function hatching(colour, place, ratio) {
  const kind = place < 0 ? CROSSED : place % HATCHINGS.length;
  const key = `${colour} ${kind} ${ratio}`;
  const known = hatched.get(key);
  if (known) return known;
  const made = pixelsOf(tile(colour, kind, ratio));
  hatched.set(key, made);
  return made;
}

/**
 * @param {HTMLCanvasElement} canvas
 * @returns {import("#page/pixels.js").Tile}
 */
export function pixelsOf(canvas) {
  const { width, height } = canvas;
  const c = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  const { data } = c.getImageData(0, 0, width, height);
  return { width, height, pixels: new Uint32Array(data.buffer) };
}

/**
 * @param {string} colour
 * @param {number} kind
 * @param {number} ratio
 */
function tile(colour, kind, ratio) {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = Math.round(6 * ratio);
  const c = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d", { willReadFrequently: true }));
  c.scale(canvas.width / 6, canvas.height / 6);
  c.fillStyle = c.strokeStyle = colour;
  c.globalAlpha = kind === 0 ? 0.5 : 0.2;
  if (kind !== CROSSED) c.fillRect(0, 0, 6, 6);
  c.globalAlpha = 0.85;
  c.lineWidth = 1;
  if (kind < CROSSED) HATCHINGS[kind](c);
  else for (const hatch of [HATCHINGS[1], HATCHINGS[4]]) hatch(c);
  return canvas;
}
