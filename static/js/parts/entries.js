// Which entry a walk is of: the one that is named, or the one of the day.

import { minutesOf } from "../core/day.js";
import { lastDay } from "../core/days.js";
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
  const found = await Promise.all((await store.about("entry", dog)).map(({ id }) => entryAndShow(id)));
  return found.filter((one) => one && isOn(one, today)).sort((one, other) => minutes(one) - minutes(other))[0] ?? null;
}

function isOn({ entry, show }, today) {
  const { day } = entry.values;
  return day ? day === today : show.values.day <= today && today <= lastDay(show.values);
}

const minutes = ({ entry }) => minutesOf(entry.values.time);
