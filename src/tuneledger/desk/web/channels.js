/** Any channel of a log, brought from the desk when a reader asks for its strip. */

import { channelOf } from "#page/account.js";
import { inflate, unpack } from "#page/unpack.js";
import { tell } from "#desk/busy.js";
import { send } from "#desk/send.js";

/** @param {import("#page/page.js").Page} page */
export function bringChannels({ board, logs }) {
  board.roster.absent = (log) =>
    [...document.querySelectorAll(`#channels-${log} option`)].map((option) =>
      /** @type {HTMLOptionElement} */ (option).value,
    );
  board.roster.bring = async (log, name) => {
    try {
      const address = `channel?log=${log}&name=${encodeURIComponent(name)}`;
      const { channel, times, samples } = await send("GET", address);
      const bytes = await inflate(samples);
      logs[log].channels.push(channelOf(bytes, channel, unpack(bytes, times)));
    } catch (problem) {
      tell(problem);
    }
  };
}
