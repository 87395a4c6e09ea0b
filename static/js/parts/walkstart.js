// How a walk through the card begins, and in which order: the usual one, or one of the dog's own.

import { cardOf, stationsOf } from "../dogfile.js";
import { clone, fill, part } from "../dom.js";
import * as store from "../store.js";
import { orderName } from "./names.js";

const PLACES = { ring: "ring", rehearse: "rehearsal" };

/** Begin a walk of the dog in `file`, of an entry where there is one; gives the address of its first station. */
export async function beginWalk(file, mode, order = [], entry = "") {
  const stations = stationsOf(cardOf(file, order)).map((station) => station.id);
  const walk = await store.write("walk", null, {
    dog: file.dog.id,
    ...(entry ? { entry } : {}),
    mode,
    stations,
    place: stations[0],
    began: new Date().toISOString(),
  });
  return `${PLACES[mode]}/${walk}`;
}

/** Fill the choice of orders; gives a function that tells the chosen list of stations. */
export function orderChoices(node, file) {
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
