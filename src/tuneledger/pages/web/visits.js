/** Visits: stretches of a run in one cell of the map, with their time and mean difference. */

/**
 * @typedef {import("#page/account.js").Log} Log
 * @typedef {import("#page/account.js").Account} Account
 * @typedef {{ log: number, from: number, to: number, seconds: number, mean: number }} Visit
 * @typedef {{ seconds: number, mean: number, visits: Visit[] }} Cell `mean` is NaN where not known
 *
 * @typedef {object} Open a visit that is being counted
 * @property {number} cell
 * @property {number} first
 * @property {number} last
 * @property {number} seconds
 * @property {number} sum
 * @property {number} count
 */

const BRIEFLY = 0.15; // seconds: who leaves a cell for less has not left it

/**
 * Every cell's visits, over all logs. Means are over samples that can be judged.
 * @param {Log[]} logs
 * @param {number} count of cells
 * @returns {Cell[]}
 */
export function visitsOf(logs, count) {
  const cells = Array.from({ length: count }, () => ({ sum: 0, count: 0, cell: emptyCell() }));
  logs.forEach(({ account }, log) => {
    if (!account?.cells) return;
    for (const { cell, first, last, seconds, sum, count: n } of walk(account, account.cells)) {
      const kept = cells[cell];
      kept.sum += sum;
      kept.count += n;
      kept.cell.seconds += seconds;
      const [from, to] = [account.times[first], account.times[last]];
      joined(kept.cell.visits, { log, from, to, seconds, mean: sum / n }, n);
    }
  });
  return cells.map(({ sum, count: n, cell }) => ({ ...cell, mean: sum / n }));
}

/**
 * How the mean difference of each further log stands to the first one's, in cells both visited.
 * @param {Log[]} logs
 * @param {number} height rows of the map
 * @param {number} width columns of it
 * @returns {import("#page/types.js").LayerData[]}
 */
export function betweenLogs(logs, height, width) {
  const [first, ...others] = logs.map((log) => visitsOf([log], height * width));
  return others.map((cells, i) => {
    const apart = cells.map(({ mean }, cell) => mean - first[cell].mean);
    const known = apart.map((value) => (Number.isNaN(value) ? null : value));
    const values = Array.from({ length: height }, (_, r) => known.slice(r * width, (r + 1) * width));
    return { title: `${logs[i + 1].file} less ${logs[0].file}: mean difference`, values };
  });
}

/** @returns {Cell} */
function emptyCell() {
  return { seconds: 0, mean: NaN, visits: [] };
}

/** @type {WeakMap<Visit, number>} samples behind a visit's mean */
const behind = new WeakMap();

/**
 * Add a visit, or lengthen the last one where the cell was left but briefly.
 * @param {Visit[]} visits
 * @param {Visit} visit
 * @param {number} count
 */
function joined(visits, visit, count) {
  const last = visits.at(-1);
  if (!last || last.log !== visit.log || visit.from - last.to > BRIEFLY) {
    behind.set(visit, count);
    visits.push(visit);
    return;
  }
  const before = behind.get(last) ?? 0;
  last.mean = before && count ? weighed(last.mean, before, visit.mean, count) : before ? last.mean : visit.mean;
  last.to = visit.to;
  last.seconds += visit.seconds;
  behind.set(last, before + count);
}

/**
 * @param {number} a
 * @param {number} n
 * @param {number} b
 * @param {number} m
 */
function weighed(a, n, b, m) {
  return (a * n + b * m) / (n + m);
}

/**
 * Stretches of rows in one cell.
 * @param {Account} account
 * @param {Float64Array} cells
 * @returns {Generator<Open>}
 */
function* walk({ times, difference, gap }, cells) {
  /** @type {Open | null} */
  let open = null;
  for (let row = 0; row < times.length; row++) {
    const cell = cells[row];
    if (open && cell !== open.cell) {
      yield open;
      open = null;
    }
    if (Number.isNaN(cell)) continue;
    open ??= { cell, first: row, last: row, seconds: 0, sum: 0, count: 0 };
    open.last = row;
    const step = row + 1 < times.length ? times[row + 1] - times[row] : 0;
    if (step <= gap) open.seconds += step;
    if (!Number.isNaN(difference[row])) {
      open.sum += difference[row];
      open.count++;
    }
  }
  if (open) yield open;
}
