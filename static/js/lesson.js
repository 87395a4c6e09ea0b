// What is learned with: a card (a dog's, or the general one), the words of the trade, and how each
// thing stands.

import { showsFrom } from "./coming.js";
import { itemsOf, learned } from "./core/drill.js";
import { idOf } from "./core/ids.js";
import { localDay } from "./core/words.js";
import { cardOf, dogFile, generalCard, withReasons } from "./dogfile.js";
import { dogName } from "./parts/names.js";
import { breedById, reasonsBook, wordsBook } from "./shipped.js";
import * as store from "./store.js";

/** The lesson of a dog, of a breed, or of neither: {path, back, title, dog, breed, card, terms, sources,
    items, states}; null for a dog that is gone. `states` are the values of the items' records, by key.
    @param {{id?: string, breed?: string}} address */
export async function lessonOf({ id, breed: breedId }) {
  const [breed, { terms, sources }, reasons, file] = await Promise.all([
    breedById(breedId),
    wordsBook(),
    reasonsBook(),
    id ? dogFile(id) : null,
  ]);
  if (id && !file) return null;
  const card = withReasons(file ? cardOf(file) : await generalCard(breed), reasons);
  const items = itemsOf(card, terms);
  const rows = await store.several(
    "drill",
    items.map((item) => recordId(item, id)),
  );
  const known = rows.map((row, at) => [items[at].key, row && !row.values.deleted ? row.values : undefined]);
  return {
    path: placeOf(id, breed),
    back: id ? `#/dog/${id}` : "#/",
    title: file ? `Learn: ${dogName(file.dog)}` : "Learn",
    dog: id ?? null,
    breed,
    card: { ...card, sources: { ...card.sources, ...sources } },
    terms,
    items,
    states: new Map(known),
  };
}

function placeOf(id, breed) {
  if (id) return `dog/${id}/learn`;
  return breed ? `breed/${breed.id}/learn` : "learn";
}

// What holds for every dog is learned once.
const ownerOf = (item, dog) => (item.isOfDog ? dog : null) ?? null;
const recordId = (item, dog) => idOf(`${ownerOf(item, dog) ?? ""} ${item.key}`);

/** Keep an answer ("wrong", "slow", "right"); gives the day on which the item is asked again. */
export async function keepAnswer(lesson, item, answer) {
  const at = new Date().toISOString();
  const today = localDay();
  const shows = await showsFrom(today);
  const show = shows.map(({ values }) => values.day ?? "").find((day) => day > today) ?? "";
  const values = learned(lesson.states.get(item.key), answer, { at, today, show });
  const owner = ownerOf(item, lesson.dog);
  const about = owner ? { dog: owner } : {};
  await store.write("drill", recordId(item, lesson.dog), { ...about, item: item.key, ...values, deleted: false });
  lesson.states.set(item.key, values);
  return values.due;
}
