/** The causes and episodes, which the page was written with, made choosable. */

import { byId } from "#page/dom.js";

/**
 * @typedef {import("#page/choose.js").Chooser} Chooser
 * @typedef {import("#page/store.js").Store} Store
 */

/**
 * @param {Store} store
 * @param {Chooser} chooser
 */
export function bindStatement(store, chooser) {
  const causes = marked("cause");
  const episodes = marked("episode");
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
 * The elements of the statement that stand for a cause or an episode, in their order.
 * @param {"cause" | "episode"} key
 */
export function marked(key) {
  return /** @type {HTMLElement[]} */ ([...document.querySelectorAll(`[data-${key}]`)]);
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
