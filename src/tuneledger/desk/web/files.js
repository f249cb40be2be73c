/** Files that are dropped on a page or chosen, sent to a case. */

import { byId, el } from "#page/dom.js";
import { say, tell } from "#desk/busy.js";
import { send, sendFile } from "#desk/send.js";

/**
 * Call `take` with files that are dropped anywhere or chosen with the button.
 * @param {(files: File[]) => Promise<void>} take
 */
export function onFiles(take) {
  const took = (/** @type {File[]} */ files) => {
    if (files.length) take(files).catch(tell);
  };
  const field = /** @type {HTMLInputElement} */ (el("input", { type: "file", multiple: true, hidden: true }));
  document.body.append(field);
  field.addEventListener("change", () => {
    took([...(field.files ?? [])]);
    field.value = "";
  });
  byId("add").addEventListener("click", () => field.click());
  const over = (/** @type {boolean} */ is) => document.documentElement.classList.toggle("dropping", is);
  document.addEventListener("dragover", (event) => {
    event.preventDefault();
    over(true);
  });
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) over(false);
  });
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    over(false);
    took([...(event.dataTransfer?.files ?? [])]);
  });
}

/**
 * Send files to a case, one after the other, and have it read.
 * @param {string} address of the case
 * @param {File[]} files
 */
export async function lay(address, files) {
  for (const file of files) {
    say(`sending ${file.name.slice(-80)}`, 0);
    await sendFile(`${address}files`, file, (share) => say(`sending ${file.name.slice(-80)}`, share));
  }
  await send("POST", `${address}read`);
}
