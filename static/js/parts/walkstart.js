// How a walk through the card begins: in which order, or where a broken-off one had come to.

import { isOver, pathOf } from "../core/walk.js";
import { ago } from "../core/words.js";
import { cardOf, openWalk, stationsOf } from "../dogfile.js";
import { clone, fill, on, part } from "../dom.js";
import * as store from "../store.js";
import { orderName } from "./names.js";

const RESTORABLE = 30 * 24 * 60 * 60_000;

/** The address of a walk. */
export const walkPath = ({ id, values }) => pathOf(id, values);

/** Where a walk stands, in words: "at Bite". `stations` are those it may stand at. */
export function placeName({ values }, stations) {
  const name = stations.find((station) => station.id === values.place)?.name;
  return name ? `at ${name}` : "at the end";
}

/** Begin a walk of the dog in `file`, of an entry where there is one, with what is `said` of it; gives the
    address of its first station. */
export async function beginWalk(file, mode, order = [], entry = "", said = {}) {
  const stations = stationsOf(cardOf(file, order)).map((station) => station.id);
  const walk = await store.write("walk", null, {
    dog: file.dog.id,
    ...(entry ? { entry } : {}),
    mode,
    stations,
    place: stations[0],
    began: new Date().toISOString(),
    ...said,
  });
  return pathOf(walk, { mode, ear: false });
}

/** Begin a session of practice with these `values` of its walk; gives its address. One that is open is
    finished: a dog has one at a time. */
export async function beginSession(file, values) {
  const [open, began] = [openWalk(file, "rehearse"), new Date().toISOString()];
  const walk = { dog: file.dog.id, mode: "rehearse", began, place: values.stations[0], ...values };
  const [id] = await store.writeAll([
    { kind: "walk", id: null, values: walk },
    ...(open ? [{ kind: "walk", id: open.id, values: { ended: began } }] : []),
  ]);
  return pathOf(id, walk);
}

/** Put into the start screen `node` the ways in: a new walk, and back into the newest one of the same
    entry. `cameTo(walk)` gives {far, last, place}: how far that walk came, and the place in words;
    `goTo(address)` goes there; `said()` gives what a new walk says of itself. */
export async function waysIn(node, file, mode, { entry = "", words, cameTo, goTo, said = () => ({}) }) {
  const walk = lastWalk(file, mode, entry);
  const isOpen = Boolean(walk) && !isOver(walk.values, file.touched[mode], Date.now());
  const came = walk && (await cameTo(walk));
  fill(node, {
    far: isOpen && (came.far || null),
    last: isOpen && (came.last || null),
    on: isOpen && `Go on ${came.place}`,
    go: isOpen ? "Start over" : words,
    again: walk !== null && !isOpen && againWords(walk, file.touched[mode], came.place),
  });
  const chosen = orderChoices(node, file);
  part(node, "go").classList.toggle("main", !isOpen);
  on(node, "on", () => goTo(walkPath(walk)));
  on(node, "again", async () => {
    await store.write("walk", walk.id, { ended: null });
    goTo(walkPath(walk));
  });
  on(node, "go", async () => {
    if (isOpen) await store.write("walk", walk.id, { ended: new Date().toISOString() });
    goTo(await beginWalk(file, mode, chosen(), entry, said()));
  });
  return node;
}

// Neither finishing nor lying about for hours asks anything, so both can be taken back.
function againWords({ values }, touched, place) {
  return values.ended
    ? `Reopen the last walk, finished ${ago(values.ended)}`
    : `Reopen the last walk ${place}, left ${ago(touched)}`;
}

/** The newest walk, if one may go back to it: of this entry or of none, and not too old. */
function lastWalk(file, mode, entry) {
  const walk = file.walks.get(mode) ?? null;
  if (!walk || (entry && walk.values.entry && walk.values.entry !== entry)) return null;
  const left = Date.parse(walk.values.ended ?? file.touched[mode]);
  return Date.now() - left < RESTORABLE ? walk : null;
}

/** Fill the choice of orders; gives a function that tells the chosen list of stations. */
function orderChoices(node, file) {
  if (!file.orders.length) {
    fill(node, { orders: null });
    return () => [];
  }
  const choices = [
    { id: "", label: "Usual order" },
    ...file.orders.map((row) => ({ id: row.id, label: orderName(row) })),
  ];
  fill(node, {
    choices: choices.map(({ id, label }) => {
      const choice = fill(clone("order-choice"), { words: label });
      const input = part(choice, "input");
      input.value = id;
      input.checked = id === "";
      return choice;
    }),
  });
  return () => {
    const picked = node.querySelector("input[name=order]:checked")?.value;
    return file.orders.find((row) => row.id === picked)?.values.stations ?? [];
  };
}
