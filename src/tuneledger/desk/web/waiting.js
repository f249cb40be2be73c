/** A case without a statement: it waits, or says what is wrong and takes more files. */

import { follow, say, tell } from "#desk/busy.js";
import { lay, onFiles } from "#desk/files.js";
import { bindPapers } from "#desk/papers.js";
import { send } from "#desk/send.js";

/** Show what came of a job, also of one that has ended since this page was written. */
async function waited() {
  const { stage, ready } = await send("GET", "state");
  const written = document.getElementById("reading") !== null;
  if (!stage && !ready && !written) return;
  if (stage) await follow("");
  location.reload();
}

onFiles(async (files) => {
  await lay("", files);
  await waited();
  location.reload();
});
bindPapers(waited);
say("");
waited().catch(tell);
