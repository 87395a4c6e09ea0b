// The shows of now and later, found by their first day, and the entries in them: what is over costs nothing.

import { addDays, LONGEST_SHOW, lastDay, nextEntry } from "./core/days.js";
import * as store from "./store.js";

/** The shows that may not be over on `day`, by their first day. */
export const showsFrom = (day) => store.from("show", "", addDays(day, -LONGEST_SHOW));

/** The shows that are not over on `day`, the soonest first. */
export async function showsComing(day) {
  const shows = (await showsFrom(day)).filter(({ values }) => lastDay(values) >= day);
  return shows.sort((one, other) => (one.values.day < other.values.day ? -1 : 1));
}

/** The entries of these shows, each with its show: [{entry, show}]. */
export async function enteredAt(shows) {
  const found = await Promise.all(shows.map((show) => store.about("entry", show.id)));
  return found.flatMap((entries, place) => entries.map((entry) => ({ entry, show: shows[place] })));
}

/** The entries of a dog that may not be over on `day`, each with its show: [{entry, show}]. One of a show
    without a day may have a day of its own. */
export async function enteredFrom(dog, day) {
  const [dated, undated] = await Promise.all([showsFrom(day), store.unordered("show", "")]);
  return (await enteredAt([...dated, ...undated])).filter(({ entry }) => entry.values.dog === dog);
}

/** {entry, show, day} of the entry with which a dog goes in next; null for none. */
export const nextEntryOf = async (dog, today) => nextEntry(await enteredFrom(dog, today), today);
