// The show a dog goes to next.

import { nextEntryOf } from "../coming.js";

/** {day, entry, show} (values) of the soonest entry of a dog that is not over on `today`; null for none. */
export async function nextShow(dog, today) {
  const next = await nextEntryOf(dog, today);
  return next && { day: next.day, entry: next.entry.values, show: next.show.values };
}
