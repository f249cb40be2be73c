/** A case with its statement: the page itself, and what only the desk can do. */

import { start } from "#page/page.js";
import { follow, say } from "#desk/busy.js";
import { bringChannels } from "#desk/channels.js";
import { lay, onFiles } from "#desk/files.js";
import { bindPapers } from "#desk/papers.js";
import { bindRoles } from "#desk/roles.js";
import { send } from "#desk/send.js";
import { bindWhatIf } from "#desk/whatif.js";

async function redraw() {
  if (await follow("")) location.reload();
}

const page = await start();
page.notes.keptBy(async ({ notes }) => {
  const { beside } = await send("PUT", "notes", { notes });
  return beside ? `Kept beside the log, in ${beside}.` : "Kept with this case; save them to hand them on.";
});
bindPapers(redraw);
bindRoles();
bindWhatIf(page);
bringChannels(page);
onFiles(async (files) => {
  await lay("", files);
  await redraw();
});
say("");
const { stage, drawn } = await send("GET", "state");
const shown = /** @type {HTMLElement} */ (document.querySelector(".desk-bar")).dataset["drawn"];
if (stage) await redraw();
else if (String(drawn) !== shown) location.reload();
