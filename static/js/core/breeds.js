// The breeds that came with the app, and finding one by any of its names. What comes is told in
// columns to be short; ringside/domain/breed_index.py explains it, and tests/vectors/breeds.json
// holds the two together.

/** [{id, name, bodies, surface, short_faced, figure}], by name; core/figure.js draws the figure. */
export function breedsOf({ names, ids, values, signs }) {
  const parts = Object.keys(values).filter((of) => !["bodies", "surface"].includes(of));
  return names.map((name, place) => {
    const fact = (of) => values[of][parseInt(signs[of][place], 36)];
    return {
      id: ids[place] ?? plain(name).replaceAll(" ", "-"),
      name,
      bodies: fact("bodies").split(" "),
      surface: fact("surface"),
      short_faced: fact("short_faced"),
      figure: Object.fromEntries(parts.map((of) => [of, fact(of)])),
    };
  });
}

/** The same breeds with `also`, the further words each is looked for by, and its `varieties`. */
export function withNames(breeds, { also, varieties }) {
  const words = also.split("|");
  return breeds.map((breed, place) => ({ ...breed, also: words[place], varieties: varieties[place] ?? [] }));
}

const LETTERS = { ø: "o", ł: "l", đ: "d", ı: "i", æ: "ae", œ: "oe", ß: "ss" };

/** Words as they are compared: small letters and digits without marks, one space apart. */
export const plain = (words) =>
  words
    .toLowerCase()
    .normalize("NFD")
    .replace(/[øłđıæœß]/g, (letter) => LETTERS[letter])
    .replace(/[\u0300-\u036f.]/g, "")
    .replace(/[^a-z0-9]+/g, " ")
    .trim();

/** The breeds that have every word of what was typed, in part, in their names; first those called so. */
export function findBreeds(breeds, typed) {
  const words = plain(typed).split(" ").filter(Boolean);
  if (!words.length) return [];
  const found = breeds.filter((breed) => words.every((word) => `${plain(breed.name)} ${breed.also}`.includes(word)));
  const rank = (breed) => {
    const name = plain(breed.name);
    if (name.startsWith(plain(typed))) return 0;
    return words.every((word) => name.includes(word)) ? 1 : 2;
  };
  return found.sort((one, other) => rank(one) - rank(other));
}

/** The breed that was meant: the one so called, or the only one that has all these words whole. */
export function breedNamed(breeds, typed) {
  const whole = plain(typed);
  if (!whole) return undefined;
  const called = breeds.find((breed) => plain(breed.name) === whole);
  if (called) return called;
  const has = (breed) => new Set(`${plain(breed.name)} ${breed.also}`.split(" "));
  const found = breeds.filter((breed) => whole.split(" ").every((word) => has(breed).has(word)));
  return found.length === 1 ? found[0] : undefined;
}
