/** Mouse, wheel, fingers and keys on the strips. */

import { clamp } from "#page/scale.js";

/**
 * @typedef {import("#page/board.js").Board} Board
 * @typedef {import("#page/store.js").Store} Store
 */

const STILL = 4; // CSS pixels within which a press is a click, not a drag
const WHEEL = 0.0016; // zoom per pixel of wheel, as an exponent
const RESTS = 250; // milliseconds after which a turning wheel counts as a new gesture

/**
 * Runs the last of many calls, once per frame.
 * @template T
 * @param {(value: T) => void} act
 * @returns {(value: T) => void}
 */
function perFrame(act) {
  let waiting = false;
  /** @type {T} */
  let latest;
  return (value) => {
    latest = value;
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      act(latest);
    });
  };
}

/**
 * @param {Board} board
 * @param {Store} store
 */
export function listenToPointer(board, store) {
  const { root } = board;
  /** @type {Map<number, { x: number, start: number }>} pointers that are down */
  const down = new Map();
  let moved = false;
  const onPaper = (/** @type {MouseEvent} */ event) => {
    const { left, width } = board.paper;
    const x = event.clientX - root.getBoundingClientRect().left - left;
    return x >= 0 && x <= width;
  };
  const follow = perFrame((/** @type {number} */ clientX) => {
    if (!store.look.frozen) store.set({ cursor: board.timeAt(clientX) });
  });

  root.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || !onPaper(event) || isControl(event.target)) return;
    down.set(event.pointerId, { x: event.clientX, start: event.clientX });
    if (down.size === 1) moved = false;
  });
  root.addEventListener("pointermove", (event) => {
    const held = down.get(event.pointerId);
    if (!held) {
      if (event.pointerType === "mouse" && onPaper(event)) follow(event.clientX);
      return;
    }
    if (!moved && Math.abs(event.clientX - held.start) < STILL) return;
    if (!moved) root.setPointerCapture(event.pointerId);
    moved = true;
    if (down.size === 1) drag(held.x, event.clientX);
    else if (down.size === 2) pinch(event.pointerId, event.clientX);
    held.x = event.clientX;
  });
  root.addEventListener("pointerup", (event) => {
    if (!down.delete(event.pointerId) || moved) return;
    const { frozen } = store.look;
    const touched = event.pointerType !== "mouse";
    store.set({ cursor: board.timeAt(event.clientX), frozen: touched || !frozen });
  });
  root.addEventListener("pointercancel", (event) => down.delete(event.pointerId));
  root.addEventListener("dblclick", (event) => {
    if (onPaper(event) && !isControl(event.target)) store.show(0, store.end, { episode: -1 });
  });

  /**
   * @param {number} was
   * @param {number} is
   */
  function drag(was, is) {
    store.pan(board.timeAt(was) - board.timeAt(is));
  }

  /**
   * @param {number} id of the finger that moved
   * @param {number} is
   */
  function pinch(id, is) {
    const other = [...down].find(([key]) => key !== id)?.[1].x ?? is;
    const was = down.get(id)?.x ?? is;
    const factor = clamp(Math.abs(was - other) / Math.max(8, Math.abs(is - other)), 0.5, 2);
    store.zoom(factor, board.timeAt((was + other) / 2));
    drag((was + other) / 2, (is + other) / 2);
  }

  listenToWheel(board, store, onPaper);
}

/**
 * The wheel zooms about the cursor. A page that is already scrolling scrolls on, and zooming out
 * of the whole run scrolls the page.
 * @param {Board} board
 * @param {Store} store
 * @param {(event: MouseEvent) => boolean} onPaper
 */
function listenToWheel(board, store, onPaper) {
  let scrolled = -Infinity;
  let turned = 0;
  let moved = 0;
  const apply = perFrame((/** @type {number} */ clientX) => {
    const { from, to } = store.look;
    if (moved) store.pan((moved / board.paper.width) * (to - from));
    if (turned) store.zoom(Math.exp(turned * WHEEL), board.timeAt(clientX));
    turned = moved = 0;
  });
  document.addEventListener(
    "wheel",
    (event) => {
      const inside = event.target instanceof Node && board.root.contains(event.target);
      const scrolling = event.timeStamp - scrolled < RESTS && !event.ctrlKey;
      const out = event.deltaY > 0 && store.whole && !event.ctrlKey;
      if (!inside || !onPaper(event) || scrolling || out) {
        scrolled = event.timeStamp;
        return;
      }
      event.preventDefault();
      const unit = event.deltaMode === 1 ? 16 : 1; // lines or pixels
      const sideways = Math.abs(event.deltaX) > Math.abs(event.deltaY) || event.shiftKey;
      if (sideways) moved += (event.deltaX || event.deltaY) * unit;
      else turned += event.deltaY * unit * (event.ctrlKey ? 5 : 1);
      apply(event.clientX);
    },
    { passive: false },
  );
}

/** @param {EventTarget | null} target */
function isControl(target) {
  return target instanceof Element && target.closest("button, select, input, a") !== null;
}

/**
 * @param {Board} board
 * @param {Store} store
 * @param {{ episode: (step: number) => void, copy: () => void }} acts
 */
export function listenToKeys(board, store, acts) {
  board.root.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || isControl(event.target)) return;
    const act = keys(board, store, acts, event.shiftKey)[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  });
}

/**
 * @param {Board} board
 * @param {Store} store
 * @param {{ episode: (step: number) => void, copy: () => void }} acts
 * @param {boolean} shift ten samples instead of one
 * @returns {Record<string, () => void>}
 */
function keys(board, store, acts, shift) {
  const { from, to, cursor, frozen } = store.look;
  const span = to - from;
  const about = cursor >= from && cursor <= to ? cursor : (from + to) / 2;
  const place = (/** @type {number} */ time) => {
    const at = clamp(time, 0, store.end);
    store.set({ cursor: at, frozen: true });
    if (at < store.look.from || at > store.look.to) store.show(at - span / 2, at + span / 2);
  };
  const step = (/** @type {number} */ way) => {
    place(Number.isNaN(cursor) ? about : board.log.beside(about, shift ? 10 * way : way));
  };
  return {
    ArrowLeft: () => step(-1),
    ArrowRight: () => step(1),
    Home: () => place(0),
    End: () => place(store.end),
    PageUp: () => store.pan(-span * 0.8),
    PageDown: () => store.pan(span * 0.8),
    "+": () => store.zoom(0.6, about),
    "=": () => store.zoom(0.6, about),
    "-": () => store.zoom(1 / 0.6, about),
    "−": () => store.zoom(1 / 0.6, about),
    0: () => store.show(0, store.end, { episode: -1 }),
    n: () => acts.episode(1),
    p: () => acts.episode(-1),
    c: () => acts.copy(),
    " ": () => store.set({ cursor: about, frozen: !frozen }),
    Enter: () => store.set({ cursor: about, frozen: !frozen }),
    Escape: () => store.set({ frozen: false }),
  };
}
