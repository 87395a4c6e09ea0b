// Which card a dog has: its pack from the book, or the general card until the first sync. The
// handler's own order, cues and asks are laid over it from the records.

import { asksFor, limitsFor, puppyUntil, suits, traitsOf } from "./core/asks.js";
import { held } from "./core/held.js";
import { asOf, isOver, personalise } from "./core/walk.js";
import { localDay } from "./core/words.js";
import { breedOf, knowledge } from "./shipped.js";
import * as store from "./store.js";
import { touchedLast } from "./touched.js";

/** {dog, breed, pack, part, limits, base, ...}: what the screens about one dog share; `part` is a pack that
    tells what is asked of the breed. Of what grows for years, such as marks and measures, a screen reads the
    newest, or asks the store for what it needs. */
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
  const part = await breedPart(dog, breed, made?.pack);
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
    part,
    limits: part ? limitsFor(part.limits, dog.values, part.card.choices) : [],
    base: await wholeCard(dog, breed, pack, part?.card),
    isGeneral: !(part ?? pack),
  };
}

/** {mode: instant} of when the walks of a dog that are not finished were touched last. */
async function touched(walks) {
  const open = [...walks].filter(([, walk]) => !walk.values.ended);
  return Object.fromEntries(await Promise.all(open.map(async ([mode, walk]) => [mode, await touchedLast(walk)])));
}

const fits = ({ card, enter }, dog, breed) =>
  card.breed === (breed?.name ?? dog.values.breed) &&
  card.sex === (dog.values.sex ?? null) &&
  card.surface === surfaceOf(dog, breed) &&
  (enter?.born ?? null) === (dog.values.born ?? null);

export const surfaceOf = (dog, breed) => dog.values.surface ?? breed?.surface ?? "ground";

/** A pack that tells what is asked of the breed: the dog's own, else that of another dog of the breed,
    best of one under the same body; null if none is here. It needs not fit the dog in anything else. */
async function breedPart(dog, breed, own) {
  const tells = (pack) => Boolean(breed && pack?.card.breed === breed.name);
  if (tells(own)) return own;
  const { breed: id, body } = dog.values;
  const others = breed ? (await store.all("dog")).filter(({ values }) => values.breed === id) : [];
  const packs = await Promise.all(others.map((other) => store.pack("dog", other.id)));
  const found = packs.map((made, place) => ({ pack: made?.pack, isAlike: others[place].values.body === body }));
  // A pack of before holds what is asked of its own dog's sex alone.
  const telling = found.filter(({ pack }) => tells(pack) && pack.card.choices);
  return (telling.find(({ isAlike }) => isAlike) ?? telling[0])?.pack ?? null;
}

/** The general card that came with the app, with what the dog's pack says of the dog, and with what
    is asked of the breed: `told` is the card of a pack that tells it. */
async function wholeCard(dog, breed, pack, told) {
  const { general: all } = await knowledge();
  const card = all.cards[pack?.card.key ?? generalKey(dog, breed)];
  const { body = "FCI", born, variety } = dog.values;
  const traits = traitsOf(breed, variety);
  const suitable = (lines) => lines.filter((line) => suits(line, traits));
  const linesOf = (station) => {
    const every = held(told?.asks, station) ?? [];
    const asks = asksFor(every, dog.values, told?.choices);
    // A pack of before does not have the lines; that of another dog may have one that is its own alone.
    const line = held(told?.glance, station) ?? "";
    const isOthers = every.some((ask) => !asks.includes(ask) && ask.says.toLowerCase() === `${line.toLowerCase()}.`);
    const of = held(told?.glance_of, station) ?? body;
    return {
      asks: asks.map((ask) => ofAnother(ask, told.sources, body)),
      glance: isOthers ? "" : line,
      glanceOf: of === body ? "" : of,
    };
  };
  return {
    ...card,
    breed: breed?.name ?? dog.values.breed,
    puppy_until: puppyUntil(born),
    ...(told && { general: false, standard: told.standard }),
    ...pack?.card,
    // A pack made by an older book says it in other words.
    figure: { ...(breed?.figure ?? pack?.card.figure ?? card.figure), ...held(told?.looks, dog.values.variety) },
    sources: { ...all.sources, ...told?.sources },
    phases: card.phases.map((phase) => ({
      ...phase,
      stations: phase.stations.map((place) => {
        const station = all.stations[place];
        const { cues, cautions } = station;
        return { ...station, cues: suitable(cues), cautions: suitable(cautions), ...linesOf(station.id) };
      }),
    })),
  };
}

/** An ask with the name of its body, where that is not the dog's. */
function ofAnother({ of: _, ...ask }, sources, body) {
  const { of } = sources[ask.source];
  return of === body ? ask : { ...ask, of };
}

/** The general card for a breed, or for none, where there is no dog. */
export const generalCard = async (breed) => asOf(await wholeCard({ values: {} }, breed, null), localDay());

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

/** The card with why each cue is given in words; `reasons` are the words by their numbers. */
export function withReasons(card, reasons) {
  const told = (cue) => ({ ...cue, why: reasons[cue.why] ?? "" });
  const phases = card.phases.map((phase) => ({
    ...phase,
    stations: phase.stations.map((station) => ({ ...station, cues: station.cues.map(told) })),
  }));
  return { ...card, phases };
}

/** Every station of a card, in its order. */
export const stationsOf = (card) => card.phases.flatMap((phase) => phase.stations);

/** The notes and cues of a dog for stations that its card lacks. */
export function elsewhere({ base, notes, cues }) {
  const here = new Set(stationsOf(base).map(({ id }) => id));
  return [...notes, ...cues].filter(({ values }) => !here.has(values.station));
}

/** The stations a walk goes through: those of the card, or `only` those that it names. */
export function walkStations(card, { only, stations }) {
  const all = stationsOf(card);
  const named = only ? [...new Set(stations ?? [])].flatMap((id) => all.find((one) => one.id === id) ?? []) : [];
  return named.length ? named : all;
}

/** What the marks of the dog come to at each station of its card: Map {station: sums} (core/practice.js). */
export const standingsOf = (file) =>
  store.standings(
    file.dog.id,
    stationsOf(file.base).map((station) => station.id),
  );

/** The newest mark of each station of a card: Map {station: {grade, at}}. */
export async function readiness(file) {
  const found = new Map();
  for (const [station, { last }] of await standingsOf(file)) if (last.length) found.set(station, last.at(-1));
  return found;
}

/** The newest walk of this dog, if it was begun and is not over. */
export function openWalk(file, mode, now = Date.now()) {
  const walk = file.walks.get(mode);
  return walk && !isOver(walk.values, file.touched[mode], now) ? walk : null;
}
