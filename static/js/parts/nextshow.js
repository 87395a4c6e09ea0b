// The show a dog goes to next.

import { lastDay } from "../core/days.js";
import * as store from "../store.js";
import { entryAndShow } from "./entries.js";

/** {day, entry, show} (values) of the soonest entry of a dog that is not over on `today`; null for none. */
export async function nextShow(dog, today) {
  const found = await Promise.all((await store.about("entry", dog)).map(({ id }) => entryAndShow(id)));
  return (
    found
      .flatMap((one) => (one ? [{ entry: one.entry.values, show: one.show.values }] : []))
      .map((one) => ({ ...one, day: one.entry.day ?? dayOf(one.show, today) }))
      .filter(({ day }) => day && day >= today)
      .sort((one, other) => (one.day < other.day ? -1 : 1))[0] ?? null
  );
}

/** A show that has begun and is not over is one of today. */
const dayOf = (show, today) => (show.day < today && today <= lastDay(show) ? today : show.day);
