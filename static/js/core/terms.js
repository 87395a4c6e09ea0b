// Which words of a text are words of the trade: pure.

const ESCAPED = /[.*+?^${}()|[\]\\]/g;
const stem = (name) => name.toLowerCase().replace(/s$/, "");

/** A finder of the glossary's words, for `piecesOf`. Where a name is an everyday word too, it is found
    only `inAsks`. */
export function finderOf(terms, inAsks = false) {
  const byStem = new Map();
  for (const term of terms.filter((one) => inAsks || !one.plain))
    for (const name of [term.name, ...(term.also ?? [])]) byStem.set(stem(name), term);
  const longestFirst = [...byStem.keys()].sort((one, other) => other.length - one.length);
  const names = longestFirst.map((name) => name.replace(ESCAPED, "\\$&")).join("|");
  return { byStem, pattern: new RegExp(`(?<![\\w-])(?:${names})s?(?![\\w-])`, "gi") };
}

/** A text in pieces, [{words, term}]; `term` is null between the words of the trade. */
export function piecesOf(words, { byStem, pattern }) {
  const pieces = [];
  let done = 0;
  for (const { 0: found, index } of words.matchAll(pattern)) {
    if (index > done) pieces.push({ words: words.slice(done, index), term: null });
    pieces.push({ words: found, term: byStem.get(stem(found)) ?? null });
    done = index + found.length;
  }
  if (done < words.length) pieces.push({ words: words.slice(done), term: null });
  return pieces;
}

/** The words of the trade in a text. */
export const termsIn = (words, finder) => piecesOf(words, finder).flatMap(({ term }) => term ?? []);

/** The terms that somebody looks for: those whose names begin so, then those with such a word in a name,
    then those with one in what is said of them. */
export function findTerms(terms, typed) {
  const wanted = typed.trim().toLowerCase();
  if (!wanted) return terms;
  const names = ({ name, also = [] }) => [name, ...also].map((one) => one.toLowerCase());
  const rank = (term) => {
    if (names(term).some((name) => name.startsWith(wanted))) return 0;
    if (names(term).some((name) => name.includes(` ${wanted}`))) return 1;
    return ` ${term.says.toLowerCase()}`.includes(` ${wanted}`) ? 2 : 3;
  };
  return [0, 1, 2].flatMap((wish) => terms.filter((term) => rank(term) === wish));
}
