// Which card a dog has: its pack from the book, or the general card until the first sync. The
// handler's own order, cues and asks are laid over it from the records.

import { held } from "./core/held.js";
import { asOf, isOver, personalise } from "./core/walk.js";
import { localDay } from "./core/words.js";
import { breedOf, knowledge } from "./shipped.js";
import * as store from "./store.js";

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
    touched: await touched(walks),
    base: await wholeCard(dog, breed, pack?.card),
    isGeneral: !pack,
  };
}

// What a walk is touched by.
const MARKS = { ring: "tick", rehearse: "practice" };

/** {mode: instant} of when the walks of a dog that are not finished were touched last. */
async function touched(walks) {
  const open = [...walks].filter(([, walk]) => !walk.values.ended);
  const found = await Promise.all(open.map(([mode, walk]) => store.newest(MARKS[mode], walk.id, 1)));
  return Object.fromEntries(open.map(([mode, walk], place) => [mode, found[place][0]?.values.at ?? walk.values.began]));
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
    ...own,
    // A pack made by an older book says it in other words.
    figure: breed?.figure ?? own?.figure ?? card.figure,
    sources: { ...all.sources, ...own?.sources },
    phases: card.phases.map((phase) => ({
      ...phase,
      stations: phase.stations.map((place) => {
        const station = all.stations[place];
        // A pack of before does not have the lines.
        const [asks, glance] = [held(own?.asks, station.id) ?? [], held(own?.glance, station.id) ?? ""];
        return { ...station, asks, glance };
      }),
    })),
  };
}

function generalKey(dog, breed) {
  const short = breed?.short_faced ?? dog.values.short_faced ?? false;
  return `${dog.values.sex ?? "dog"}-${surfaceOf(dog, breed)}-${short ? "short" : "any"}`;
}

/** The card of a dog's file, in the order `stations` (a list of ids, null for the usual), as of today.
    @param {any} file
    @param {string[] | null} stations */
export function cardOf(file, stations = null) {
  const lines = (rows, field) => {
    /** @type {Map<string, string[]>} */
    const byStation = new Map();
    for (const { values } of rows.filter((row) => row.values[field]?.trim()))
      byStation.set(values.station, [...(byStation.get(values.station) ?? []), values[field]]);
    return Object.fromEntries(byStation);
  };
  const own = { order: stations ?? [], cues: lines(file.cues, "line"), asks: lines(file.asks, "says") };
  return asOf(personalise(file.base, own), localDay());
}

/** Every station of a card, in its order. */
export const stationsOf = (card) => card.phases.flatMap((phase) => phase.stations);

/** The newest mark of each station of a card: Map {station: {grade, at}}. */
export async function readiness(file) {
  const stations = stationsOf(file.base).map((station) => station.id);
  const rows = await store.newestBy("practice", file.dog.id, stations);
  const whole = [...rows].filter(([, { values }]) => values.grade && values.at);
  return new Map(whole.map(([station, row]) => [station, row.values]));
}

/** The newest walk of this dog, if it was begun and is not over. */
export function openWalk(file, mode, now = Date.now()) {
  const walk = file.walks.get(mode);
  return walk && !isOver(walk.values, file.touched[mode], now) ? walk : null;
}
