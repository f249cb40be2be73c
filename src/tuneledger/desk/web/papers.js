/** The files of a case: which sheet is said to run, which file does not belong, how an image is read. */

import { tell } from "#desk/busy.js";
import { send } from "#desk/send.js";

/** @param {() => Promise<void>} redraw waits for the statement and shows it */
export function bindPapers(redraw) {
  const change = async (/** @type {Record<string, unknown>} */ what) => {
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
  const wishes = document.getElementById("wishes");
  wishes?.addEventListener("change", () => {
    const said = /** @type {Record<string, unknown>} */ ({});
    for (const node of wishes.querySelectorAll("[name]")) {
      const field = /** @type {HTMLInputElement} */ (node);
      said[field.name] = field.type === "checkbox" ? field.checked : field.value;
    }
    change({ wishes: said });
  });
  for (const node of document.querySelectorAll("[data-remove]")) {
    const name = /** @type {HTMLElement} */ (node).dataset["remove"] ?? "";
    node.addEventListener("click", () => change({ remove: name }));
  }
}
