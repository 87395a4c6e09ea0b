// What the home screen shows, as plain rows: the day of a show, what to go on with, the dogs.

import { enteredAt, showsComing } from "../coming.js";
import { inOrder } from "../core/day.js";
import { addDays, dayOf, sayDay } from "../core/days.js";
import { isOver, pathOf } from "../core/walk.js";
import { age, localDay } from "../core/words.js";
import { learnWords } from "../due.js";
import { breedOf, knowledge } from "../shipped.js";
import * as store from "../store.js";
import { touchedLast } from "../touched.js";
import { listedName } from "./names.js";

// A walk that is not over was begun within so many days, and mostly today.
const DAYS_OPEN = 2;
// How many walks there is room to tell.
const MOST_TOLD = 3;

const WALKS = { ring: "In the ring", rehearse: "Rehearsal" };

/** {day, title, entries, onward, dogs, learn}: `entries` of today by time, `onward` the walks that were
    broken off and, on other days, the next show; `learn` what the way to Learn says. What can be read at
    once is: each turn at the store keeps the list waiting. */
export async function homeRows(now = new Date()) {
  const day = localDay(now);
  const [dogs, shows, undated, begun] = await Promise.all([
    store.all("dog"),
    showsComing(day),
    store.unordered("show", ""),
    walksBegun(now),
    knowledge(),
  ]);
  const byName = (one, other) => (one.values.name ?? "").localeCompare(other.values.name ?? "");
  const [walks, entered, rows, learn] = await Promise.all([
    openWalks(begun, dogs, now),
    enteredAt([...shows.filter(({ values }) => values.day <= day), ...undated]),
    Promise.all(dogs.sort(byName).map(dogRow)),
    learnWords(dogs),
  ]);
  const today = await entriesOf(entered, dogs, walks, day);
  const isIn = new Set(today.entries.map(({ walk }) => walk?.path));
  const next = today.entries.length ? null : shows[0];
  const onward = [...firstFew(walks.filter(({ path }) => !isIn.has(path))), ...(next ? [showAhead(next)] : [])];
  return { day, ...today, onward, dogs: rows, learn };
}

async function dogRow(dog) {
  const breed = await breedOf(dog);
  const { sex, born } = dog.values;
  return {
    id: dog.id,
    name: listedName(dog),
    breed: breed?.name ?? dog.values.breed ?? "",
    about: [sex, born && age(born)].filter(Boolean).join(", "),
    figure: breed?.figure ?? { short_faced: dog.values.short_faced },
  };
}

/** {title, entries} of a day, by the time they go in. */
async function entriesOf(entered, dogs, walks, day) {
  const rows = entered
    .filter(({ entry, show }) => dayOf(entry.values, show.values, day) === day)
    .map(({ entry, show }) => ({
      ...entry.values,
      id: entry.id,
      dog: dogs.find((dog) => dog.id === entry.values.dog),
      at: show,
    }))
    .filter(({ dog }) => dog);
  const isSeveral = new Set(rows.map(({ at }) => at.id)).size > 1;
  const entries = await Promise.all(rows.map((row) => entryRow(row, walks, isSeveral)));
  return { title: isSeveral ? "" : (rows[0]?.at.values.name ?? ""), entries: inOrder(entries) };
}

async function entryRow({ id, dog, at, ring, time, armband }, walks, isSeveral) {
  const walk = walks.find(({ path, entry }) => path.startsWith("ring/") && entry === id) ?? null;
  const facts = [ring && `Ring ${ring}`, armband && `armband ${armband}`, isSeveral && (at.values.name ?? "a show")];
  return {
    id,
    name: listedName(dog),
    time: time ?? "",
    about: facts.filter(Boolean).join(" · "),
    walk,
    isDone: !walk && (await wasIn(dog.id, id)),
  };
}

async function wasIn(dog, entry) {
  const walk = (await store.newestBy("walk", dog, ["ring"])).get("ring");
  return walk?.values.entry === entry && Boolean(walk.values.ended);
}

/** The rows of the walks that can still be the same day's. */
async function walksBegun(now) {
  const since = addDays(localDay(now), -DAYS_OPEN);
  return (await Promise.all(Object.keys(WALKS).map((mode) => store.from("walk", mode, since)))).flat();
}

/** Those of them that were broken off, newest first. */
async function openWalks(begun, dogs, now) {
  const rows = await Promise.all(begun.map((walk) => walkRow(walk, dogs, now)));
  return rows.flatMap((row) => row ?? []).sort((one, other) => (one.touched < other.touched ? 1 : -1));
}

/** The first three, and of the others the names: they are found on the pages of their dogs. */
function firstFew(walks) {
  const others = walks.slice(MOST_TOLD);
  const names = [...new Set(others.map(({ dog }) => dog))].join(", ");
  const more = { path: "", name: `and ${others.length} more`, about: names };
  return [...walks.slice(0, MOST_TOLD), ...(others.length ? [more] : [])];
}

async function walkRow(walk, dogs, now) {
  const { id, values } = walk;
  const dog = dogs.find((one) => one.id === values.dog);
  if (!dog || !values.began || !Object.hasOwn(WALKS, values.mode)) return null;
  const [touched, { general }] = await Promise.all([touchedLast(walk), knowledge()]);
  if (isOver(values, touched, now.getTime())) return null;
  const words = WALKS[values.mode];
  const place = general.stations.find((station) => station.id === values.place)?.name;
  return {
    path: pathOf(id, values),
    entry: values.entry ?? "",
    dog: listedName(dog),
    touched,
    name: `Go on with ${listedName(dog)}`,
    about: place ? `${words}, at ${place}` : words,
  };
}

const showAhead = ({ id, values }) => ({
  path: `show/${id}`,
  name: values.name ?? "Next show",
  about: `Next show: ${sayDay(values.day)}`,
});
