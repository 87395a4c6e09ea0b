// How much of what was learned is due today: counted, never gone through.

import { few, localDay } from "./core/words.js";
import * as store from "./store.js";

/** How many things are due today, of these dogs and of no dog. */
export async function dueToday(dogs) {
  const owners = ["", ...dogs.map(({ id }) => id)];
  const counts = await store.countUntil("drill", owners, localDay());
  return counts.reduce((sum, count) => sum + count, 0);
}

/** What the way to Learn says. */
export async function learnWords(dogs) {
  const due = await dueToday(dogs);
  return due ? `Learn: ${few(due, "thing")} due today` : "Learn";
}
