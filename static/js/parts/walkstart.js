// Which order a walk is taken in: the usual one, or one of the dog's own.

import { clone, fill, part } from "../dom.js";

/** Fill the choice of orders; gives a function that tells the chosen list of stations. */
export function orderChoices(node, file) {
  if (!file.orders.length) {
    fill(node, { orders: null });
    return () => [];
  }
  const choices = [
    { id: "", label: "Usual order" },
    ...file.orders.map((row) => ({ id: row.id, label: row.values.label })),
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
