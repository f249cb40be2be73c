/** The row of buttons over the strips. */

import { button, el } from "#page/dom.js";
import { unitWords } from "#page/numbers.js";
import { CHOICES } from "#page/units.js";

/**
 * @typedef {import("#page/account.js").Log} Log
 * @typedef {import("#page/board.js").Board} Board
 * @typedef {import("#page/choose.js").Chooser} Chooser
 * @typedef {import("#page/store.js").Store} Store
 * @typedef {import("#page/store.js").Look} Look
 * @typedef {import("#page/types.js").PageData} PageData
 */

/**
 * @param {HTMLElement} root
 * @param {Store} store
 * @param {Board} board
 * @param {Chooser} chooser
 * @param {Log[]} logs
 */
export function tools(root, store, board, chooser, logs) {
  const middle = () => (store.look.from + store.look.to) / 2;
  const whole = button("Whole run", () => store.show(0, store.end, { episode: -1 }));
  const parts = [
    button("Closer", () => store.zoom(0.5, middle())),
    button("Wider", () => store.zoom(2, middle())),
    whole,
    ...(chooser.data.episodes.length
      ? [
          button("Episode before", () => chooser.beside(-1)),
          button("Next episode", () => chooser.beside(1)),
        ]
      : []),
    findStrip(store, board),
    ...kinds(logs, chooser.data).map((kind) => pickUnit(store, kind)),
  ];
  if (logs.length > 1) parts.unshift(pickLog(store, logs));
  if (logs.filter(({ account }) => account).length > 1) parts.push(...pickBeside(store, logs));
  root.replaceChildren(...parts);
}

/**
 * @param {Store} store
 * @param {Log[]} logs
 */
function pickLog(store, logs) {
  const options = logs.map(({ file }, i) => el("option", { value: String(i) }, file));
  const select = /** @type {HTMLSelectElement} */ (el("select", { "aria-label": "Log" }, ...options));
  select.addEventListener("change", () => {
    const log = Number(select.value);
    store.show(0, logs[log].end, { log, cursor: NaN, frozen: false, episode: -1 });
  });
  const follow = () => {
    select.value = String(store.look.log);
  };
  store.listen(follow);
  follow();
  return el("label", {}, "Log ", select);
}

/**
 * Another log beside this one, and what links the two.
 * @param {Store} store
 * @param {Log[]} logs
 */
function pickBeside(store, logs) {
  const options = logs.map(({ file }, i) => el("option", { value: String(i) }, file));
  const other = /** @type {HTMLSelectElement} */ (
    el("select", { id: "beside-log" }, el("option", { value: "-1" }, "no other log"), ...options)
  );
  const mapped = logs.some(({ account }) => account?.cells);
  const link = /** @type {HTMLSelectElement} */ (
    el("select", { id: "beside-link" },
      el("option", { value: "time" }, "time"),
      ...(mapped ? [el("option", { value: "point" }, "operating point")] : []))
  );
  const linked = el("label", {}, "linked by ", link);
  const shift = /** @type {HTMLInputElement} */ (
    el("input", { id: "beside-shift", type: "number", step: "0.1", "aria-label": "Seconds by which its time is ahead" })
  );
  shift.addEventListener("input", () => {
    const seconds = Number(shift.value);
    const longest = Math.max(...store.ends);
    if (Math.abs(seconds) <= longest) store.set({ shift: seconds });
  });
  const ahead = el("label", {}, "plus ", shift, " s");
  link.value = store.look.link;
  other.addEventListener("change", () => store.set({ beside: Number(other.value) }));
  link.addEventListener("change", () => store.set({ link: link.value }));
  const follow = () => {
    const { log, beside } = store.look;
    options.forEach((option, i) => {
      option.hidden = i === log;
    });
    if (beside === log) store.set({ beside: -1 });
    other.value = String(store.look.beside);
    linked.hidden = store.look.beside < 0;
    ahead.hidden = linked.hidden || store.look.link !== "time";
    if (shift !== document.activeElement) shift.value = String(store.look.shift);
  };
  store.listen((_, changed) => {
    if (["log", "beside", "link", "shift"].some((key) => changed.has(/** @type {keyof Look} */ (key)))) follow();
  });
  follow();
  return [el("label", { class: "find" }, "Beside it ", other), linked, ahead];
}

/**
 * A few letters of a channel's name bring it up.
 * @param {Store} store
 * @param {Board} board
 */
function findStrip(store, { roster }) {
  const list = el("datalist", { id: "spare-channels" });
  const field = /** @type {HTMLInputElement} */ (
    el("input", { list: "spare-channels", placeholder: "a few letters", size: "14", autocomplete: "off" })
  );
  const label = el("label", { class: "find" }, "Add a strip ", field, list);
  const fill = () => {
    const names = roster.addable;
    list.replaceChildren(...names.map((value) => el("option", { value })));
    label.hidden = !names.length;
  };
  const add = (/** @type {boolean} */ exactly) => {
    const found = roster.find(field.value, exactly);
    if (found === undefined) return;
    field.value = "";
    void roster.add(found);
  };
  field.addEventListener("input", () => add(true));
  field.addEventListener("keydown", (event) => {
    if (event.key === "Enter") add(false);
  });
  field.addEventListener("focus", fill);
  store.listen((_, changed) => {
    if (changed.has("log") || changed.has("cause") || changed.has("strips")) fill();
  });
  fill();
  return label;
}

/**
 * The kinds of units that anything on the page has.
 * @param {Log[]} logs
 * @param {PageData} data
 */
function kinds(logs, { map }) {
  const scales = [
    ...logs.flatMap(({ channels }) => channels.map(({ scale }) => scale)),
    map?.rows.scale,
    map?.columns.scale,
  ];
  return Object.keys(CHOICES).filter((kind) => scales.some((scale) => scale?.kind === kind));
}

/**
 * @param {Store} store
 * @param {string} kind
 */
function pickUnit(store, kind) {
  const key = kind === "pressure" ? "pressure" : "temperature";
  const options = CHOICES[kind].map(({ unit }) => el("option", { value: unit }, unitWords(unit)));
  const select = /** @type {HTMLSelectElement} */ (
    el("select", {}, el("option", { value: "" }, "as logged"), ...options)
  );
  select.value = store.look[key];
  select.addEventListener("change", () => store.set({ [key]: select.value }));
  return el("label", { class: "unit-choice" }, key === "pressure" ? "Pressures " : "Temperatures ", select);
}
