// Which entry a walk is of: the one that is named, or the one of the day.

import { nextEntryOf } from "../coming.js";
import { localDay } from "../core/words.js";
import * as store from "../store.js";

/** {entry, show} of an entry's id; null for one that is gone, or whose show is. */
export async function entryAndShow(id) {
  const entry = id ? await store.get("entry", id) : null;
  if (!entry || entry.values.deleted) return null;
  const show = await store.get("show", entry.values.show);
  return show && !show.values.deleted ? { entry, show } : null;
}

/** The entry with which a dog goes in on `today`, the first by time; null for none. */
export async function entryOfDay(dog, today = localDay()) {
  const next = await nextEntryOf(dog, today);
  return next?.day === today ? next : null;
}
