/** Paper: light whatever the screen is, and nothing folded away. */

/**
 * Told before the page is printed (true) and after it (false).
 * @param {(printing: boolean) => void} act
 */
export function onPrinting(act) {
  /** @type {HTMLDetailsElement[]} what printing opened */
  let unfolded = [];
  const turn = (/** @type {boolean} */ printing) => {
    document.documentElement.classList.toggle("printing", printing);
    if (printing) unfolded = [...closed()];
    for (const details of unfolded) details.open = printing;
    act(printing);
  };
  addEventListener("beforeprint", () => turn(true));
  addEventListener("afterprint", () => turn(false));
}

function closed() {
  return /** @type {NodeListOf<HTMLDetailsElement>} */ (
    document.querySelectorAll("main details:not([open], #keys)")
  );
}
