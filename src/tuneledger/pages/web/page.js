/** Puts the page together: unpack, then strips, slip, causes, map. */

import { Log } from "#page/account.js";
import { Beside } from "#page/beside.js";
import { Board } from "#page/board.js";
import { bindStatement, marked } from "#page/chosen.js";
import { Chooser } from "#page/choose.js";
import { byId } from "#page/dom.js";
import { listenToKeys, listenToPointer } from "#page/gestures.js";
import { keepLink, readLink } from "#page/link.js";
import { VisitMap } from "#page/map.js";
import { Notes } from "#page/notes.js";
import { Overview } from "#page/overview.js";
import { Slip } from "#page/slip.js";
import { Store } from "#page/store.js";
import { tools } from "#page/tools.js";
import { inflate } from "#page/unpack.js";

/**
 * @typedef {import("#page/types.js").PageData} PageData
 *
 * @typedef {object} Page what stands on the page, for whoever adds to it
 * @property {PageData} data
 * @property {Log[]} logs
 * @property {Store} store
 * @property {Board} board
 * @property {Slip} slip
 * @property {Notes} notes
 * @property {VisitMap | null} map
 */

/** @returns {Promise<Page>} */
export async function start() {
  const data = /** @type {PageData} */ (JSON.parse(byId("statement-data").textContent ?? ""));
  const bytes = await inflate(byId("statement-samples").textContent ?? "");
  const logs = data.logs.map((log) => new Log(bytes, log));
  const ends = logs.map(({ end }) => end);
  const first = data.causes.length ? data.causes[0].episodes[0] : -1;
  const log = data.episodes[first]?.log ?? 0;
  const store = new Store(
    {
      log,
      from: 0,
      to: logs[log].end,
      cursor: NaN,
      frozen: false,
      cause: data.causes.length ? 0 : -1,
      episode: -1,
      cell: -1,
      beside: -1,
      shift: 0,
      link: "time",
      strips: "",
      pressure: "",
      temperature: "",
      ...readLink(location.hash, { ends, causes: data.causes.length }),
    },
    ends,
  );
  document.documentElement.classList.add("alive");
  const chooser = new Chooser(store, data);
  const board = new Board(byId("board"), store, logs, data);
  new Overview(byId("overview"), store, board, data);
  const slip = new Slip(byId("slip"), store, logs, data.tolerance_deg);
  listenToPointer(board, store);
  listenToKeys(board, store, { episode: (step) => chooser.beside(step), copy: () => slip.copy() });
  tools(byId("tools"), store, board, chooser, logs);
  bindStatement(store, chooser);
  const notes = new Notes(marked("cause"), data.causes, data.notes, byId("notes"));
  const map = data.map ? new VisitMap(byId("map"), store, logs, data, chooser) : null;
  new Beside(byId("beside"), store, logs, (cell) => map?.place(cell) ?? "");
  keepLink(store);
  return { data, logs, store, board, slip, notes, map };
}
