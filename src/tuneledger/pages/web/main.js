/** The page as it is opened from disk. */

import { start } from "#page/page.js";

await start();
