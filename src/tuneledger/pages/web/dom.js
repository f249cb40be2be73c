/** Elements, made from plain values. Text is always text: nothing here reads markup. */

/**
 * @param {string} tag
 * @param {Record<string, string | boolean>} [attributes] true: present without a value
 * @param {(Node | string)[]} children
 * @returns {HTMLElement}
 */
export function el(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== false) node.setAttribute(name, value === true ? "" : value);
  }
  node.append(...children);
  return node;
}

/**
 * A button that does one thing.
 * @param {string} text
 * @param {() => void} act
 * @param {Record<string, string | boolean>} [attributes]
 */
export function button(text, act, attributes = {}) {
  const node = el("button", { type: "button", ...attributes }, text);
  node.addEventListener("click", act);
  return node;
}

/**
 * Set a text only where it changed: the cursor moves sixty times a second.
 * @param {Node} node
 * @param {string} text
 */
export function put(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/**
 * The element of that id, which the page was written with.
 * @param {string} id
 * @returns {HTMLElement}
 */
export function byId(id) {
  const node = document.getElementById(id);
  if (!node) throw new Error(`the page lacks its part '${id}'`);
  return node;
}

/**
 * A canvas of the size of its box, in device pixels; what was on it stays where the size does.
 * @param {HTMLCanvasElement} canvas
 * @param {number} width
 * @param {number} height
 * @param {number} ratio
 */
export function sized(canvas, width, height, ratio) {
  const [w, h] = [Math.round(width * ratio), Math.round(height * ratio)];
  if (canvas.width !== w || canvas.height !== h) [canvas.width, canvas.height] = [w, h];
  return [w, h];
}

/**
 * A canvas fitted to its box, in device pixels; null where it has no size.
 * @param {HTMLCanvasElement} canvas
 * @param {number} width
 * @param {number} height
 * @param {number} ratio
 */
export function fitted(canvas, width, height, ratio) {
  const [w, h] = sized(canvas, width, height, ratio);
  const c = canvas.getContext("2d");
  if (!c || !w || !h) return null;
  c.setTransform(w / width, 0, 0, h / height, 0, 0);
  c.clearRect(0, 0, width, height);
  return c;
}
