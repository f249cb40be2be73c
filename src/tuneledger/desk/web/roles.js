/** Which channel is which signal: a reader puts another in its place. */

import { follow, tell } from "#desk/busy.js";
import { send } from "#desk/send.js";

/** Every field of the tables, each sent as soon as it is changed. */
export function bindRoles() {
  for (const node of document.querySelectorAll(".channels input")) {
    const field = /** @type {HTMLInputElement} */ (node);
    field.addEventListener("change", () => told(field));
  }
}

/** @param {HTMLInputElement} field */
async function told(field) {
  const { signal, channel, was } = field.dataset;
  if (field.value.trim() === was) return;
  const chosen = field.closest("tr")?.querySelector("select");
  const answer =
    channel === undefined
      ? { signal: signal || chosen?.value, channel: field.value }
      : { channel, unit: field.value };
  try {
    await send("POST", "roles", answer);
    if (await follow("")) location.reload();
    else field.value = was ?? "";
  } catch (problem) {
    field.value = was ?? "";
    tell(problem);
  }
}
