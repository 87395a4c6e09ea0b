// What the practice of a dog comes to at the moment: how its stations stand, and the next session.

import { firstLate, namedLately, nextSession, strictness } from "./core/practice.js";
import { localDay } from "./core/words.js";
import { cardOf, standingsOf, stationsOf } from "./dogfile.js";
import * as store from "./store.js";

/** {card, places, next, chosen, isMarked}: `places` are the card's stations with what their marks come
    to, `next` the session proposed (core/practice.js), `chosen` its stations in their order. */
export async function practiceOf(file) {
  const card = cardOf(file);
  const today = localDay();
  const [standings, lessons] = await Promise.all([
    standingsOf(file),
    store.from("lesson", file.dog.id, firstLate(today)),
  ]);
  const late = namedLately(
    lessons.map(({ values }) => values),
    today,
  );
  const places = stationsOf(card).map((station) => ({
    ...station,
    counts: strictness(station.asks),
    sums: standings.get(station.id),
    named: late.has(station.id),
  }));
  const next = nextSession(places, Date.now());
  const ids = [...next.work, ...(next.end ? [next.end] : [])];
  const chosen = ids.map((id) => places.find((place) => place.id === id));
  return { card, places, next, chosen, isMarked: places.some(({ sums }) => sums.last.length) };
}

/** "Work on Bite, Knees, then Ears." */
export function workWords(chosen) {
  const names = chosen.map(({ name }) => name);
  return names.length === 1
    ? `Work on ${names[0]}.`
    : `Work on ${names.slice(0, -1).join(", ")}, then ${names.at(-1)}.`;
}
