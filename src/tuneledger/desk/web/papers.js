/** The files of a case: which sheet is said to run, and which file does not belong to it. */

import { tell } from "#desk/busy.js";
import { send } from "#desk/send.js";

/** @param {() => Promise<void>} redraw waits for the statement and shows it */
export function bindPapers(redraw) {
  const change = async (/** @type {Record<string, string>} */ what) => {
    try {
      await send("POST", "papers", what);
      await redraw();
    } catch (problem) {
      tell(problem);
    }
  };
  for (const node of document.querySelectorAll("#papers input[name='first']")) {
    const radio = /** @type {HTMLInputElement} */ (node);
    radio.addEventListener("change", () => change({ first: radio.value }));
  }
  for (const node of document.querySelectorAll("[data-remove]")) {
    const name = /** @type {HTMLElement} */ (node).dataset["remove"] ?? "";
    node.addEventListener("click", () => change({ remove: name }));
  }
}
