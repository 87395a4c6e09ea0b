// The breeds that came with the app, and finding one by any of its names. What comes is told in
// columns to be short; ringside/domain/breed_index.py explains it, and tests/vectors/breeds.json
// holds the two together.

import { nearnessTo } from "./near.js";

/** [{id, name, bodies, surface, short_faced, figure, kinds}], by name; core/figure.js draws the figure,
    core/asks.js tells by it and `kinds` which cues suit a dog. */
export const breedsOf = (told) => told.names.map((_, place) => breedAt(told, place));

/** One of them, without making the others; null where none has the id. */
export function breedIn(told, id) {
  if (!places.has(told)) places.set(told, new Map(told.names.map((_, place) => [idAt(told, place), place])));
  const place = places.get(told).get(id);
  return place === undefined ? null : breedAt(told, place);
}

const places = new WeakMap(); // {what is told: {id: place}}

const idAt = ({ names, ids }, place) => ids[place] ?? plain(names[place]).replaceAll(" ", "-");

function breedAt(told, place) {
  const { names, values, signs, kinds } = told;
  const parts = Object.keys(values).filter((of) => !["bodies", "surface"].includes(of));
  const fact = (of) => values[of][parseInt(signs[of][place], 36)];
  return {
    id: idAt(told, place),
    name: names[place],
    bodies: fact("bodies").split(" "),
    surface: fact("surface"),
    short_faced: fact("short_faced"),
    figure: Object.fromEntries(parts.map((of) => [of, fact(of)])),
    kinds: kinds[place] ?? null,
  };
}

/** The same breeds with `also`, the other names each is looked for by, its `varieties`, and as they
    are compared: `keys`, all its names one by one, and `all`, all in one. */
export function withNames(breeds, { also, varieties }) {
  const others = also.split("|");
  return breeds.map((breed, place) => {
    const names = others[place] ? others[place].split(";") : [];
    const keys = [breed.name, ...names].map(key);
    return { ...breed, also: names, varieties: varieties[place] ?? [], keys, all: all(keys) };
  });
}

/** A name as it is compared.
    @returns {import("./near.js").Key} */
function key(name) {
  const whole = plain(name);
  const words = whole.split(" ");
  return { whole, words, joined: words.join("") };
}

const all = (keys) => `${keys.map(({ whole }) => whole).join(" ")}|${keys.map(({ joined }) => joined).join(" ")}`;

const LETTERS = { ø: "o", ł: "l", đ: "d", ı: "i", æ: "ae", œ: "oe", ß: "ss" };

/** Words as they are compared: small letters and digits without marks, one space apart. */
export function plain(words) {
  const small = words.toLowerCase();
  const bare = /^[ -~]*$/.test(small) ? small : withoutMarks(small);
  return bare
    .replaceAll(".", "")
    .replace(/[^a-z0-9]+/g, " ")
    .trim();
}

const withoutMarks = (words) =>
  words
    .normalize("NFD")
    .replace(/[øłđıæœß]/g, (letter) => LETTERS[letter])
    .replace(/[\u0300-\u036f]/g, "");

/** The breeds that are called what was typed, the likeliest first; without any, those that are
    called nearly so. All of them where nothing was typed.
    @returns {{breed: any, by: string, near: boolean}[]} `by` is another name it was found by */
export function findBreeds(breeds, typed) {
  const sought = key(typed);
  if (!sought.whole) return breeds.map((breed) => ({ breed, by: "", near: false }));
  // Most breeds hold nothing of it; a look at all their names in one says so at once.
  const likely = breeds.filter((breed) => sought.words.every((word) => breed.all.includes(word)));
  const called = ranked(likely, (name) => likeness(sought, name));
  if (called.length) return called.map((found) => ({ ...found, near: false }));
  return ranked(breeds, nearnessTo(sought)).map((found) => ({ ...found, near: true }));
}

/** [{breed, by}] by the least of what `rank` says of its names, from 0 on; null says it is none of it.
    Of names that are as good the breed's own goes first. */
function ranked(breeds, rank) {
  const found = [];
  for (const breed of breeds) {
    let best = null;
    for (const [place, name] of breed.keys.entries()) {
      const rated = rank(name);
      if (rated === null) continue;
      const rate = rated + (place ? 0.5 : 0);
      if (!best || rate < best.rate) best = { breed, by: place ? breed.also[place - 1] : "", rate };
    }
    if (best) found.push(best);
  }
  return found.sort((one, other) => one.rate - other.rate).map(({ breed, by }) => ({ breed, by }));
}

const SAME = 0;
const BEGINS = 1;
const WORDS = 2;
const WORDS_BEGIN = 3;
const JOINED = 4;
const HOLDS = 5;
const BETWEEN = 6;

/** How a name of a breed that has all the words is like what is sought: the least that is true. */
function likeness(sought, name) {
  if (name.joined === sought.joined) return SAME;
  if (name.whole.startsWith(sought.whole)) return BEGINS;
  const every = (is) => sought.words.every((word) => name.words.some((other) => is(other, word)));
  if (every((other, word) => other === word)) return WORDS;
  if (every((other, word) => other.startsWith(word))) return WORDS_BEGIN;
  if (name.joined.startsWith(sought.joined)) return JOINED;
  return every((other, word) => other.includes(word)) ? HOLDS : BETWEEN;
}

/** The breed that was meant: the one so called, or the only one that has all these words whole. */
export function breedNamed(breeds, typed) {
  const sought = key(typed);
  if (!sought.whole) return undefined;
  const called = breeds.find(({ keys }) => keys[0].whole === sought.whole);
  if (called) return called;
  const only = (is) => {
    const found = breeds.filter(({ keys }) => is(keys));
    return found.length === 1 ? found[0] : undefined;
  };
  const has = (keys) => new Set(keys.flatMap(({ words }) => words));
  return (
    only((keys) => keys.some((name) => name.joined === sought.joined)) ??
    only((keys) => sought.words.every((word) => has(keys).has(word)))
  );
}
