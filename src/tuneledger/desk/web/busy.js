/** The one line that says what is being done, or why it could not be. */

import { byId, el } from "#page/dom.js";
import { send } from "#desk/send.js";

const LOOKS = 250; // milliseconds between two looks at a case at work

/**
 * @param {string} text
 * @param {number} [share] of it that is done; none for work whose end is not known
 */
export function say(text, share) {
  const bar = el("progress", share === undefined ? {} : { value: String(share), max: "1" });
  byId("busy").replaceChildren(text, ...(text ? [" ", bar] : []));
}

/** @param {unknown} problem */
export function tell(problem) {
  const words = problem instanceof Error ? problem.message : String(problem);
  byId("busy").replaceChildren(el("b", { class: "fault" }, words));
}

/**
 * Wait until a case has its statement; false where it cannot be drawn up, which is told.
 * @param {string} address of the case
 * @returns {Promise<boolean>}
 */
export async function follow(address) {
  const since = performance.now();
  for (;;) {
    const { stage, faults } = await send("GET", `${address}state`);
    if (!stage && faults.length) {
      tell(faults.join(" "));
      return false;
    }
    if (!stage) return true;
    const seconds = Math.round((performance.now() - since) / 1000);
    say(seconds < 2 ? `${stage} …` : `${stage} … ${seconds} s`);
    await new Promise((resolve) => setTimeout(resolve, LOOKS));
  }
}
