/** Puts the page together: unpack, then strips, slip, causes, map. */

import { Log } from "#page/account.js";
import { Board } from "#page/board.js";
import { Chooser } from "#page/choose.js";
import { byId, button, el } from "#page/dom.js";
import { listenToKeys, listenToPointer } from "#page/gestures.js";
import { VisitMap } from "#page/map.js";
import { Overview } from "#page/overview.js";
import { Slip } from "#page/slip.js";
import { Store } from "#page/store.js";
import { inflate } from "#page/unpack.js";

/**
 * @typedef {import("#page/types.js").PageData} PageData
 */

async function start() {
  const data = /** @type {PageData} */ (JSON.parse(byId("statement-data").textContent ?? ""));
  const bytes = await inflate(byId("statement-samples").textContent ?? "");
  const logs = data.logs.map((log) => new Log(bytes, log));
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
    },
    logs.map(({ end }) => end),
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
  if (data.map) new VisitMap(byId("map"), store, logs, data, chooser);
}

/**
 * The row of buttons over the strips.
 * @param {HTMLElement} root
 * @param {Store} store
 * @param {Board} board
 * @param {Chooser} chooser
 * @param {Log[]} logs
 */
function tools(root, store, board, chooser, logs) {
  const middle = () => (store.look.from + store.look.to) / 2;
  const whole = button("Whole run", () => store.show(0, store.end, { episode: -1 }));
  const parts = [
    button("Closer", () => store.zoom(0.5, middle())),
    button("Wider", () => store.zoom(2, middle())),
    whole,
    ...(chooser.data.episodes.length
      ? [
          button("Episode before", () => chooser.beside(-1)),
          button("Next episode", () => chooser.beside(1)),
        ]
      : []),
    addStrip(store, board),
  ];
  if (logs.length > 1) parts.unshift(pickLog(store, logs));
  root.replaceChildren(...parts);
}

/**
 * @param {Store} store
 * @param {Log[]} logs
 */
function pickLog(store, logs) {
  const options = logs.map(({ file }, i) => el("option", { value: String(i) }, file));
  const select = /** @type {HTMLSelectElement} */ (el("select", { "aria-label": "Log" }, ...options));
  select.addEventListener("change", () => {
    const log = Number(select.value);
    store.show(0, logs[log].end, { log, cursor: NaN, frozen: false, episode: -1 });
  });
  const follow = () => {
    select.value = String(store.look.log);
  };
  store.listen(follow);
  follow();
  return el("label", {}, "Log ", select);
}

/**
 * @param {Store} store
 * @param {Board} board
 */
function addStrip(store, board) {
  const select = /** @type {HTMLSelectElement} */ (el("select", {}));
  const label = el("label", {}, "Add a strip ", select);
  const fill = () => {
    const options = board.spare.map((i) => el("option", { value: String(i) }, board.log.channels[i].name));
    select.replaceChildren(el("option", { value: "" }, "choose a channel"), ...options);
    label.hidden = !options.length;
  };
  select.addEventListener("change", () => {
    if (select.value) board.add(Number(select.value));
    fill();
  });
  board.root.addEventListener("strips", fill);
  store.listen((_, changed) => {
    if (changed.has("log") || changed.has("cause")) fill();
  });
  fill();
  return label;
}

/**
 * Make the causes and episodes, which the page was written with, choosable.
 * @param {Store} store
 * @param {Chooser} chooser
 */
function bindStatement(store, chooser) {
  const causes = /** @type {HTMLElement[]} */ ([...document.querySelectorAll("[data-cause]")]);
  const episodes = /** @type {HTMLElement[]} */ ([...document.querySelectorAll("[data-episode]")]);
  for (const node of causes) {
    node.querySelector("button")?.addEventListener("click", () => {
      chooser.cause(Number(node.dataset["cause"]));
      reveal();
    });
  }
  for (const node of episodes) {
    node.querySelector("button")?.addEventListener("click", () => {
      chooser.episode(Number(node.dataset["episode"]));
      reveal();
    });
  }
  const follow = () => {
    const { cause, episode } = store.look;
    mark(causes, "cause", cause);
    mark(episodes, "episode", episode);
  };
  store.listen((_, changed) => {
    if (changed.has("cause") || changed.has("episode")) follow();
  });
  follow();
}

/**
 * @param {HTMLElement[]} nodes
 * @param {"cause" | "episode"} key
 * @param {number} index
 */
function mark(nodes, key, index) {
  for (const node of nodes) {
    const chosen = Number(node.dataset[key]) === index;
    node.classList.toggle("chosen", chosen);
    node.querySelector("button")?.setAttribute("aria-pressed", String(chosen));
  }
}

/** Bring the strips into view where they are not; a reader who sees them is left in peace. */
function reveal() {
  const box = byId("run").getBoundingClientRect();
  if (box.top > innerHeight * 0.6 || box.bottom < innerHeight * 0.3) {
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    byId("run").scrollIntoView({ behavior: still ? "auto" : "smooth" });
  }
}

await start();
