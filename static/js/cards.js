// Which card a dog has: its pack from the book, or the general card until the first sync. The
// handler's own order, cues and asks are laid over it from the records.

import { breedsOf, withNames } from "./core/breeds.js";
import { asOf, personalise } from "./core/walk.js";
import { localDay } from "./core/words.js";
import * as store from "./store.js";

const loading = new Map();

/** A file that came with the app. Precached with its build, so this needs no signal. */
function shipped(name, ready = () => {}) {
  if (!loading.has(name)) {
    const data = (async () => {
      const answer = await fetch(new URL(`../${name}.json`, import.meta.url));
      if (!answer.ok) throw new Error("A part of the app is missing; open it once with a signal.");
      const parsed = await answer.json();
      ready(parsed);
      return parsed;
    })();
    data.catch(() => loading.delete(name));
    loading.set(name, data);
  }
  return loading.get(name);
}

/** {fields, general, breeds}: what every screen needs. */
export const knowledge = () =>
  shipped("knowledge", (data) => {
    store.declare(data.fields);
    data.breeds = breedsOf(data.breeds);
  });

/** The breeds with all their names, to look for one. */
export async function namedBreeds() {
  const [{ breeds }, names] = await Promise.all([knowledge(), shipped("names")]);
  return withNames(breeds, names);
}

/** {windows, awards, gate, chips}: what is the same for all dogs about classes, awards, the gate. */
export const rulesBook = () => shipped("rules");

/** {sources, common, memory}: where everything comes from. */
export const sourcesBook = () => shipped("sources");

export async function breedOf(dog) {
  const { breeds } = await knowledge();
  return breeds.find((breed) => breed.id === dog.values.breed) ?? null;
}

export async function breedName(dog) {
  return (await breedOf(dog))?.name ?? dog.values.breed ?? "";
}

/** {dog, card, notes, order, ...}: all that the screens about one dog show. */
export async function dogFile(id) {
  const dog = await store.get(id);
  if (!dog || dog.values.deleted) return null;
  const [breed, made, about, asks] = await Promise.all([
    breedOf(dog),
    store.pack(id),
    store.byAbout(id),
    store.byAbout(dog.values.breed ?? ""),
  ]);
  const of = (kind) => about.filter((row) => row.kind === kind);
  // Of two on the same day the one written later comes first: ids grow with time.
  const order = (row, field) => `${row.values[field] ?? ""} ${row.id}`;
  const newest = (kind, field) => of(kind).sort((one, other) => (order(one, field) < order(other, field) ? 1 : -1));
  // A pack made before the dog was changed here would show the wrong card, and the wrong classes.
  const pack = made && fits(made, dog, breed) ? made : null;
  const awards = newest("award", "day");
  return {
    dog,
    breed,
    pack,
    isPackStale: Boolean(pack) && !sameAs(pack, dog, awards),
    notes: of("note"),
    cues: of("cue"),
    orders: of("order"),
    walks: of("walk"),
    kit: of("kit"),
    practice: newest("practice", "at"),
    measures: newest("measure", "day"),
    awards,
    asks: asks.filter((row) => row.kind === "ask"),
    base: await wholeCard(dog, breed, pack?.card),
    isGeneral: !pack,
  };
}

const fits = ({ card, enter }, dog, breed) =>
  card.breed === (breed?.name ?? dog.values.breed) &&
  card.sex === (dog.values.sex ?? null) &&
  card.surface === surfaceOf(dog, breed) &&
  (enter?.born ?? null) === (dog.values.born ?? null);

// What else a pack depends on; as `made_from` in ringside/book/packs.py.
const OF_DOG = ["body", "testes", "testes_on", "neutered", "born_in"];
const OF_AWARD = [
  "day", "body", "what", "judge", "judge_country", "country", "show", "level", "klass", "points", "major", "competing", "champions",
];

function sameAs({ of }, dog, awards) {
  if (!of) return true;
  const lines = awards
    .map((row) => [row.id, ...OF_AWARD.map((name) => String(row.values[name] ?? ""))].join("\u001f"))
    .sort();
  const now = [...OF_DOG.map((name) => dog.values[name] ?? null), checksum(lines.join("\u001e"))];
  return now.every((value, place) => value === of[place]);
}

/** Adler-32 of a text. */
function checksum(text) {
  let low = 1;
  let high = 0;
  for (const byte of new TextEncoder().encode(text)) {
    low = (low + byte) % 65_521;
    high = (high + low) % 65_521;
  }
  return high * 65_536 + low;
}

export const surfaceOf = (dog, breed) => dog.values.surface ?? breed?.surface ?? "ground";

/** The general card that came with the app, with what the pack adds: the asks of the standard. */
async function wholeCard(dog, breed, own) {
  const { general: all } = await knowledge();
  const card = all.cards[own?.key ?? generalKey(dog, breed)];
  return {
    ...card,
    breed: breed?.name ?? dog.values.breed,
    figure: breed?.figure ?? card.figure,
    ...own,
    sources: { ...all.sources, ...own?.sources },
    phases: card.phases.map((phase) => ({
      ...phase,
      stations: phase.stations.map((place) => {
        const station = all.stations[place];
        return { ...station, asks: own?.asks[station.id] ?? [] };
      }),
    })),
  };
}

function generalKey(dog, breed) {
  const short = breed?.short_faced ?? dog.values.short_faced ?? false;
  return `${dog.values.sex ?? "dog"}-${surfaceOf(dog, breed)}-${short ? "short" : "any"}`;
}

/** The card of a dog's file, in the order `stations` (a list of ids), as of today. */
export function cardOf(file, stations = []) {
  const lines = (rows, field) => {
    const byStation = {};
    for (const row of rows) (byStation[row.values.station] ??= []).push(row.values[field]);
    return byStation;
  };
  const own = { order: stations, cues: lines(file.cues, "line"), asks: lines(file.asks, "says") };
  return asOf(personalise(file.base, own), localDay());
}

/** Every station of a card, in its order. */
export const stationsOf = (card) => card.phases.flatMap((phase) => phase.stations);

/** The newest grade of each station: {station: {grade, at}}. */
export function readiness(practice) {
  const newest = {};
  for (const row of practice) newest[row.values.station] ??= row.values;
  return newest;
}

/** Today's entries, the soonest first: [{id, words}]; for the top of the kennel. */
export async function entriesToday() {
  const today = localDay();
  const shows = (await store.byKind("show")).filter(({ values }) => values.day <= today && today <= (values.until ?? values.day));
  if (!shows.length) return [];
  const [entries, dogs] = await Promise.all([store.byKind("entry"), store.byKind("dog")]);
  return entries
    .map(({ id, values }) => ({
      id,
      values,
      show: shows.find((show) => show.id === values.show),
      dog: dogs.find((dog) => dog.id === values.dog),
    }))
    .filter(({ show, dog, values }) => show && dog && (!values.day || values.day === today))
    .sort((one, other) => minutes(one.values.time) - minutes(other.values.time))
    .map(({ id, values, show, dog }) => ({
      id,
      words: [show.values.name, dog.values.name, values.ring && `ring ${values.ring}`, values.time].filter(Boolean).join(", "),
    }));
}

// "9:45" comes before "11:05"; what is no time of day comes last.
function minutes(time) {
  const [, hour, minute] = time?.match(/^(\d{1,2})[:.](\d{2})/) ?? [];
  return hour ? Number(hour) * 60 + Number(minute) : 24 * 60;
}

/** A walk of this dog that was begun and not ended, newest first. */
export const openWalk = (file, mode) =>
  file.walks
    .filter((walk) => walk.values.mode === mode && !walk.values.ended)
    .sort((one, other) => (one.values.began < other.values.began ? 1 : -1))[0] ?? null;
