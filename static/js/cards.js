// Which card a dog has: its pack from the book, or the general card until the first sync. The
// handler's own order, cues and asks are laid over it from the records.

import { asOf, personalise } from "./core/walk.js";
import { localDay } from "./core/words.js";
import * as store from "./store.js";

let loading = null;

/** What came with the app: {fields, general, breeds}. Precached, so this needs no signal. */
export function knowledge() {
  loading ??= (async () => {
    const answer = await fetch(new URL("../knowledge.json", import.meta.url));
    if (!answer.ok) throw new Error("A part of the app is missing; open it once with a signal.");
    const data = await answer.json();
    store.declare(data.fields);
    return data;
  })().catch((error) => {
    loading = null;
    throw error;
  });
  return loading;
}

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
  return {
    dog,
    breed,
    notes: of("note"),
    cues: of("cue"),
    orders: of("order"),
    walks: of("walk"),
    practice: of("practice").sort((one, other) => (one.values.at < other.values.at ? 1 : -1)),
    asks: asks.filter((row) => row.kind === "ask"),
    // A pack made before the dog was changed here would show the wrong card.
    base: made && fits(made.card, dog, breed) ? made.card : await general(dog, breed),
    isGeneral: !made || !fits(made.card, dog, breed),
  };
}

const fits = (card, dog, breed) =>
  card.breed === (breed?.name ?? dog.values.breed) &&
  card.sex === (dog.values.sex ?? null) &&
  card.surface === surfaceOf(dog, breed);

export const surfaceOf = (dog, breed) => dog.values.surface ?? breed?.surface ?? "ground";

async function general(dog, breed) {
  const { general: all } = await knowledge();
  const short = breed?.short_faced ?? dog.values.short_faced ?? false;
  const key = `${dog.values.sex ?? "dog"}-${surfaceOf(dog, breed)}-${short ? "short" : "any"}`;
  const card = all.cards[key];
  return {
    ...card,
    breed: breed?.name ?? dog.values.breed,
    figure: breed?.figure ?? card.figure,
    sources: all.sources,
    phases: card.phases.map((phase) => ({
      ...phase,
      stations: phase.stations.map((place) => all.stations[place]),
    })),
  };
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

/** A walk of this dog that was begun and not ended, newest first. */
export const openWalk = (file, mode) =>
  file.walks
    .filter((walk) => walk.values.mode === mode && !walk.values.ended)
    .sort((one, other) => (one.values.began < other.values.began ? 1 : -1))[0] ?? null;
