/** The page's samples, back from base64 and deflate to arrays of numbers (see `pack.py`). */

/** @typedef {import("#page/types.js").Packed} Packed */

/**
 * The one blob of a page.
 * @param {string} base64
 * @returns {Promise<Uint8Array>}
 */
export async function inflate(base64) {
  const text = atob(base64.trim());
  const packed = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) packed[i] = text.charCodeAt(i);
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

/**
 * One array; NaN where it has no value.
 * @param {Uint8Array} bytes
 * @param {Packed} packed
 * @returns {Float64Array}
 */
export function unpack(bytes, { offset, count, width, decimals, gaps }) {
  const out = new Float64Array(count);
  const start = gaps ? offset + Math.ceil(count / 8) : offset;
  const filled = gaps ? ones(bytes, offset, count) : count;
  const up = 10 ** Math.max(0, -decimals);
  const down = 10 ** Math.max(0, decimals);
  const shift = 32 - 8 * width; // moves the sign of the highest byte to bit 31 and back
  let whole = 0;
  let next = start;
  for (let i = 0; i < count; i++) {
    if (gaps && !((bytes[offset + (i >> 3)] >> (i & 7)) & 1)) {
      out[i] = NaN;
      continue;
    }
    let step = 0;
    for (let plane = 0, at = next; plane < width; plane++, at += filled) {
      step |= bytes[at] << (8 * plane);
    }
    whole += (step << shift) >> shift;
    out[i] = (whole * up) / down; // a division by a power of ten gives the nearest double
    next++;
  }
  return out;
}

/**
 * @param {Uint8Array} bytes
 * @param {number} offset
 * @param {number} count
 */
function ones(bytes, offset, count) {
  let sum = 0;
  for (let i = 0; i < count; i++) sum += (bytes[offset + (i >> 3)] >> (i & 7)) & 1;
  return sum;
}
