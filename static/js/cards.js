// Which card a dog has: its pack from the book, or the general card until the first sync. The
// handler's own order, cues and asks are laid over it from the records.

import { asOf, personalise } from "./core/walk.js";
import { addDays } from "./core/days.js";
import { localDay } from "./core/words.js";
import { shipped } from "./shipped.js";
import * as store from "./store.js";

/** {general, breeds}: what every screen needs. */
export const knowledge = () => shipped("knowledge");

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

/** {dog, breed, pack, base, ...}: what the screens about one dog share. Of what grows for years,
    such as marks and measures, a screen reads the newest, or asks the store for what it needs. */
export async function dogFile(id) {
  const dog = await store.get("dog", id);
  if (!dog || dog.values.deleted) return null;
  const [breed, made, notes, cues, orders, kit, asks, walks] = await Promise.all([
    breedOf(dog),
    store.pack("dog", id),
    store.about("note", id),
    store.about("cue", id),
    store.about("order", id),
    store.about("kit", id),
    store.about("ask", dog.values.breed ?? ""),
    store.newestBy("walk", id, ["ring", "rehearse"]),
  ]);
  // A pack made before the dog was changed here would show the wrong card, and the wrong classes.
  const pack = made && fits(made.pack, dog, breed) ? made.pack : null;
  return {
    dog,
    breed,
    pack,
    isPackStale: Boolean(pack) && made.isStale,
    notes,
    cues,
    orders,
    kit,
    asks,
    walks,
    base: await wholeCard(dog, breed, pack?.card),
    isGeneral: !pack,
  };
}

const fits = ({ card, enter }, dog, breed) =>
  card.breed === (breed?.name ?? dog.values.breed) &&
  card.sex === (dog.values.sex ?? null) &&
  card.surface === surfaceOf(dog, breed) &&
  (enter?.born ?? null) === (dog.values.born ?? null);

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

/** The newest mark of each station of a card: Map {station: {grade, at}}. */
export async function readiness(file) {
  const stations = stationsOf(file.base).map((station) => station.id);
  const rows = await store.newestBy("practice", file.dog.id, stations);
  return new Map([...rows].map(([station, row]) => [station, row.values]));
}

// A show that began longer ago (days) is not looked for.
const LONGEST_SHOW = 31;

/** The shows that may not be over on `day`, by their first day. */
export const showsFrom = (day) => store.from("show", "", addDays(day, -LONGEST_SHOW));

/** Today's entries, the soonest first: [{id, words}]; for the top of the kennel. */
export async function entriesToday() {
  const today = localDay();
  const shows = (await showsFrom(today)).filter(({ values }) => values.day <= today && today <= (values.until ?? values.day));
  const entries = (await Promise.all(shows.map((show) => store.about("entry", show.id)))).flat();
  const dogs = await Promise.all(entries.map(({ values }) => store.get("dog", values.dog ?? "")));
  return entries
    .map(({ id, values }, place) => ({
      id,
      values,
      show: shows.find((show) => show.id === values.show),
      dog: dogs[place],
    }))
    .filter(({ show, dog, values }) => show && dog && !dog.values.deleted && (!values.day || values.day === today))
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

/** The newest walk of this dog, if it was begun and not ended. */
export function openWalk(file, mode) {
  const walk = file.walks.get(mode);
  return walk && !walk.values.ended ? walk : null;
}
