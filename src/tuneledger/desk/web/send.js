/** What the desk's pages say to the desk, and what it answers. */

/** The desk's refusal, in words for people. */
export class Refused extends Error {
  /** @param {string[]} faults */
  constructor(faults) {
    super(faults.join(" "));
  }
}

/** The address of the desk itself, which holds the token. */
export const DESK = `${location.pathname.split("/").slice(0, 2).join("/")}/`;

/**
 * @param {string} method
 * @param {string} address
 * @param {unknown} [payload]
 * @returns {Promise<any>}
 */
export async function send(method, address, payload) {
  const body = payload === undefined ? undefined : JSON.stringify(payload);
  let response;
  try {
    response = await fetch(address, { method, body, cache: "no-store" });
  } catch {
    throw new Refused(["The desk does not answer: it was closed, or stopped."]);
  }
  return answer(response.status, await response.text());
}

/**
 * @param {number} status
 * @param {string} text
 */
function answer(status, text) {
  let given;
  try {
    given = JSON.parse(text);
  } catch {
    given = { faults: [text || "The desk could not do that."] };
  }
  if (status >= 400) throw new Refused(given.faults ?? [text]);
  return given;
}

/**
 * Send a file, telling how much of it has gone.
 * @param {string} address
 * @param {File} file
 * @param {(share: number) => void} progress
 * @returns {Promise<any>}
 */
export function sendFile(address, file, progress) {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("PUT", `${address}?name=${encodeURIComponent(file.name.slice(-300))}`);
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) progress(event.loaded / event.total);
    });
    request.addEventListener("load", () => {
      try {
        resolve(answer(request.status, request.responseText));
      } catch (problem) {
        reject(problem);
      }
    });
    request.addEventListener("error", () => {
      reject(new Refused([`${file.name} did not arrive. It may be too large, or a folder.`]));
    });
    request.send(file);
  });
}
