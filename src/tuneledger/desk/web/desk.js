/** The desk: all cases, and the place to drop more. */

import { byId, el, put } from "#page/dom.js";
import { say, tell } from "#desk/busy.js";
import { lay, onFiles } from "#desk/files.js";
import { DESK, send } from "#desk/send.js";

const LOOKS = 1000; // milliseconds between two looks at cases that are at work

onFiles(async (files) => {
  const begun = await send("POST", `${DESK}cases`);
  const address = `${DESK}cases/${begun.case}/`;
  try {
    await lay(address, files);
  } catch (problem) {
    await send("DELETE", address);
    throw problem;
  }
  location.assign(address);
});

for (const button of document.querySelectorAll("[data-away]")) {
  button.addEventListener("click", async () => {
    try {
      await send("DELETE", `${DESK}cases/${/** @type {HTMLElement} */ (button).dataset["away"]}/`);
      location.reload();
    } catch (problem) {
      tell(problem);
    }
  });
}

byId("close").addEventListener("click", async () => {
  try {
    await send("POST", `${DESK}close`);
    const closed = el("p", { class: "none" }, "The desk is closed. This window can be closed too.");
    byId("close").closest("main")?.replaceChildren(el("h1", {}, "The desk"), closed);
  } catch (problem) {
    tell(problem);
  }
});

/** Cases at work say how far they are. */
async function watch() {
  const states = await send("GET", `${DESK}states`);
  let working = false;
  for (const node of document.querySelectorAll("[data-says]")) {
    const { stage, says, faults } = states[/** @type {HTMLElement} */ (node).dataset["says"] ?? ""] ?? {};
    if (stage) put(node, `${stage} …`);
    else if (node.textContent?.endsWith(" …")) put(node, says || faults?.[0] || "");
    working ||= Boolean(stage);
  }
  if (working) setTimeout(() => watch().catch(tell), LOOKS);
}

say("");
await watch();
