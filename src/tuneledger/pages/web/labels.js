/** Where the names of thresholds stand: none over another, nor over the numbers of the value axis. */

/**
 * @typedef {{ y: number, below: boolean, wide: number }} Wanted the threshold's line, whether its
 *   name had better stand below it, and how broad the name is; CSS pixels
 * @typedef {{ left: number, right: number, y: number }} Box words one line high, by their middle
 */

export const LINE = 14; // CSS pixels from the middle of one line of words to that of the next
const AIR = 12; // between names side by side
const OFF = 8; // from a threshold's line to the middle of its name
const EDGE = 4; // from the right edge of the paper

/**
 * A place for each name: at the right edge by its line, else below or above it, else further left.
 * null where there is no room: the first ones matter most.
 * @param {Wanted[]} wanted
 * @param {{ width: number, height: number }} paper
 * @param {Box[]} taken by other words
 * @returns {(Box | null)[]}
 */
export function placesFor(wanted, { width, height }, taken) {
  const all = [...taken];
  return wanted.map(({ y, below, wide }) => {
    const sides = (below ? [1, -1] : [-1, 1]).map((side) => y + side * OFF);
    const rows = sides.filter((middle) => middle >= LINE / 2 && middle <= height - LINE / 2);
    const free = rows.map((middle) => rightmost(middle, wide, width - EDGE, all));
    const found = free.reduce((best, box) => (best && (!box || best.right >= box.right) ? best : box), null);
    if (found) all.push(found);
    return found;
  });
}

/**
 * The free place furthest to the right at a height.
 * @param {number} y
 * @param {number} wide
 * @param {number} right
 * @param {Box[]} all
 * @returns {Box | null}
 */
function rightmost(y, wide, right, all) {
  const beside = all.filter((other) => Math.abs(other.y - y) < LINE);
  for (const other of beside.sort((a, b) => b.right - a.right)) {
    const clear = right - wide >= other.right + AIR || right + AIR <= other.left;
    if (!clear) right = other.left - AIR;
  }
  return right - wide >= 0 ? { left: right - wide, right, y } : null;
}
