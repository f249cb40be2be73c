/** A reader's notes on causes: accepted as expected, or a remark. They change no verdict. */

import { button, el, put } from "#page/dom.js";

/**
 * @typedef {import("#page/types.js").NoteData} NoteData
 * @typedef {import("#page/types.js").NotesData} NotesData
 * @typedef {import("#page/types.js").CauseData} CauseData
 * @typedef {(notes: NotesData) => Promise<string>} Keep what is done with changed notes, in words
 */

export class Notes {
  /**
   * @param {HTMLElement[]} nodes the causes as they stand on the page, in their order
   * @param {CauseData[]} causes
   * @param {NotesData} notes
   * @param {HTMLElement} foot where notes are saved from
   */
  constructor(nodes, causes, notes, foot) {
    this.notes = notes;
    this.foot = foot;
    /** @type {Keep | null} */
    this.keep = null;
    this.said = el("span", { class: "said", role: "status" });
    nodes.forEach((node, i) => this.#attach(node, causes[i]));
    this.#offer();
  }

  /**
   * Somebody keeps the notes from now on, so that they need not be saved as a file.
   * @param {Keep} keep
   */
  keptBy(keep) {
    this.keep = keep;
    this.#offer();
  }

  /** @param {string} cause */
  of(cause) {
    return this.notes.notes.find((note) => note.cause === cause);
  }

  /**
   * @param {HTMLElement} node
   * @param {CauseData} cause
   */
  #attach(node, cause) {
    const box = el("div", { class: "note" });
    node.querySelector(".words")?.append(box);
    this.#show(box, cause);
  }

  /**
   * The note as it stands, and the way to change it.
   * @param {HTMLElement} box
   * @param {CauseData} cause
   */
  #show(box, cause) {
    const note = this.of(cause.key);
    const edit = button(note ? "Change the note" : "Accept or note …", () => this.#edit(box, cause), {
      class: "quiet",
      "aria-label": `${note ? "Change the note on" : "Accept as expected, or note something on"} ${cause.title}`,
    });
    const mark = note?.expected ? [el("b", {}, "Accepted as expected"), note.says ? ": " : "."] : [];
    const words = note ? el("p", { class: "noted" }, ...mark, note.says) : "";
    box.replaceChildren(words, edit);
  }

  /**
   * @param {HTMLElement} box
   * @param {CauseData} cause
   */
  #edit(box, cause) {
    const note = this.of(cause.key);
    const expected = /** @type {HTMLInputElement} */ (el("input", { type: "checkbox" }));
    const says = /** @type {HTMLTextAreaElement} */ (
      el("textarea", { rows: "2", maxlength: "700", "aria-label": "Why, or what you noticed" })
    );
    expected.checked = note?.expected ?? false;
    says.value = note?.says ?? "";
    const done = (/** @type {boolean} */ kept) => {
      if (kept) this.#put({ cause: cause.key, title: cause.title, expected: expected.checked, says: says.value.trim() });
      this.#show(box, cause);
      box.querySelector("button")?.focus();
    };
    const form = el(
      "form",
      { class: "note-form" },
      el("label", {}, expected, " This is wanted: accept it as expected"),
      says,
      el("p", {}, el("button", { type: "submit" }, "Keep"), " ", button("Cancel", () => done(false))),
    );
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      done(true);
    });
    form.addEventListener("keydown", (event) => {
      if (event.key === "Escape") done(false);
    });
    box.replaceChildren(form);
    says.focus();
  }

  /** @param {NoteData} note */
  #put(note) {
    const others = this.notes.notes.filter(({ cause }) => cause !== note.cause);
    const said = note.expected || note.says ? [note] : [];
    this.notes = { ...this.notes, notes: [...others, ...said] };
    this.#offer();
    this.keep?.(this.notes).then(
      (words) => this.foot.replaceChildren(words),
      (problem) => this.foot.replaceChildren(el("b", {}, `Not kept: ${problem.message}`)),
    );
  }

  /** On a page from disk notes are kept by saving them as a file. */
  #offer() {
    this.foot.replaceChildren();
    if (this.keep || !this.notes.notes.length) return;
    const save = button("Save the notes as a file", () => {
      const { format, files, notes } = this.notes;
      const text = `${JSON.stringify({ format, files, notes }, null, 2)}\n`;
      download(`${files[0] ?? "statement"}.notes.json`, text, "application/json");
      put(this.said, "saved where your browser puts downloads");
    });
    this.foot.append(save, " ", this.said);
  }
}

/**
 * Hand a text to the browser as a file.
 * @param {string} name
 * @param {string} text
 * @param {string} type
 */
export function download(name, text, type) {
  const address = URL.createObjectURL(new Blob([text], { type }));
  const link = /** @type {HTMLAnchorElement} */ (el("a", { href: address, download: name }));
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}
