// The ring of an entry on its day, out of the store, and the dogs of a day that may collide.

import { showsFrom } from "../coming.js";
import { dayOf, isOn } from "../core/days.js";
import { idOf } from "../core/ids.js";
import { inMinutes, isPlaced, LOUD, meetings, standingAt, tapsOf } from "../core/ringday.js";
import { localDay } from "../core/words.js";
import { clone, fill, icon } from "../dom.js";
import { ringBook } from "../shipped.js";
import * as store from "../store.js";
import { dogName } from "./names.js";

const plain = (ring) =>
  (ring ?? "")
    .trim()
    .toLowerCase()
    .replace(/^ring\s+/, "");

/** {id, isNew, day, values, rows, taps} of the ring in which an entry goes in. One without a name is the
    entry's own. */
export async function ringOf({ entry, show }) {
  const day = dayOf(entry.values, show.values, localDay());
  const name = plain(entry.values.ring);
  const id = idOf(`ringday ${show.id} ${day} ${name || entry.id}`);
  const here = await store.about("ringday", show.id);
  const isHere = ({ values }) => name && values.day === day && plain(values.ring) === name;
  const row = here.find((one) => one.id === id) ?? here.find(isHere);
  const rows = row ? await store.about("ringtap", row.id) : [];
  return { id: row?.id ?? id, isNew: !row, day, values: row?.values ?? {}, rows, taps: tapsOf(rows) };
}

/** The address of the ring clock of an entry, if it runs: something was seen at its ring today. */
export async function runningClock(found) {
  const { day, taps } = await ringOf(found);
  return taps.length && day === localDay() ? `entry/${found.entry.id}/clock` : "";
}

/** What a new record of this ring says of it. */
export const newRing = ({ entry, show }, { day }) => ({
  show: show.id,
  day,
  ...(entry.values.ring ? { ring: entry.values.ring } : {}),
});

/** How an entry stands at the moment: standingAt (core/ringday.js) and {id, ring, klass, name}. */
export async function standingOf(found, ring, now) {
  const { entry, show } = found;
  const standing = standingAt({ entry: entry.values, ring, body: show.values.body }, await ringBook(), now);
  return { ...standing, id: entry.id, ring, klass: entry.values.klass };
}

/** The pairs of a day's entries that may collide (core/ringday.js), each with its dogs' names; of those of
    `only`, an entry's id, if one is given. */
export async function meetingsOn(day, only = "") {
  const now = inMinutes(new Date());
  const shows = (day ? await showsFrom(day) : []).filter(({ values }) => isOn(values, day));
  const found = await Promise.all(shows.map((show) => entriesOf(show, day, now)));
  const standing = found.flat().filter(({ turn, isTimed }) => turn.left >= 0 && isTimed);
  return meetings(standing).filter(({ one, other }) => !only || one.id === only || other.id === only);
}

async function entriesOf(show, day, now) {
  const entries = (await store.about("entry", show.id)).filter(
    ({ values }) => isPlaced(values) && dayOf(values, show.values, localDay()) === day,
  );
  return Promise.all(
    entries.map(async (entry) => {
      const [ring, dog] = await Promise.all([ringOf({ entry, show }), store.get("dog", entry.values.dog)]);
      const standing = await standingOf({ entry, show }, ring, now);
      return { ...standing, name: dog ? dogName(dog) : "another dog", where: whereWords(entry.values) };
    }),
  );
}

/** A warning of two turns that may collide; seen from the entry `mine`, or from none. */
export function meetingNode({ one, other, chance, isOneClass }, mine = "") {
  const [first, second] = other.id === mine ? [other, one] : [one, other];
  const { where } = second;
  const words = isOneClass
    ? `${first.name} and ${second.name} are in one class. Find a second handler.`
    : `${first.name} and ${second.name}${where ? ` (${where})` : ""} may be called at once: ${Math.round(chance * 100)} %. Tell both stewards early, and find a second handler.`;
  const node = fill(clone("notice"), { icon: icon(chance >= LOUD ? "missed" : "caution"), words });
  node.classList.toggle("loud", chance >= LOUD);
  return node;
}

/** "ring 3"; "" for none. */
export const whereWords = ({ ring }) => (plain(ring) ? `ring ${plain(ring)}` : "");
