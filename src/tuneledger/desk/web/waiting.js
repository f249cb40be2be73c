/** A case without a statement: it waits, or says what is wrong and takes more files. */

import { follow, say, tell } from "#desk/busy.js";
import { lay, onFiles } from "#desk/files.js";
import { bindPapers } from "#desk/papers.js";
import { send } from "#desk/send.js";

async function waited() {
  const { stage } = await send("GET", "state");
  if (!stage) return;
  await follow("");
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
