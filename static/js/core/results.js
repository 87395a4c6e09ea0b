// Results: who judged, which record is whose, and what many of them come to. Pure.

import { idOf } from "./ids.js";

// As ringside/domain/results.py has it, where it says why; tests/vectors/results.json holds both.
const BETWEEN = /[. \u00a0\u2009\u202f]+/g;
const TITLES = /^(?:(?:mrs|mr|ms|dr) )+/;
const LONGEST = 60;

/** A judge's name as it is compared, "" for none. */
export function judgeKey(name) {
  const words = (name ?? "")
    .toLowerCase()
    .replace(BETWEEN, " ")
    .replace(/^ +| +$/g, "");
  return [...words.replace(TITLES, "")].slice(0, LONGEST).join("");
}

// Two phones that write of the same thing write the same record.
export const resultId = (entry) => idOf(`result ${entry}`);
export const lessonId = (result, station, says) => idOf(`lesson ${result} ${station} ${says}`);
export const awardId = (entry, what) => idOf(`award ${entry} ${what}`);

// Where a placing stands in a drawing: the best on top.
const HEIGHTS = { 1: -1, 2: -2, 3: -3, 4: -4, reserve: -4, vhc: -5, unplaced: -6 };

/** [[day, height], ...] of the placings of some results (their values), the oldest first. */
export const heightsOf = (results) =>
  results
    .filter(({ day, placing }) => day && Object.hasOwn(HEIGHTS, placing ?? ""))
    .map(({ day, placing }) => [day, HEIGHTS[placing]])
    .sort(([one], [other]) => (one < other ? -1 : 1));

/** What lessons (values) say of each station: [{station, liked, named, practise}], each the number of
    different judges, or for `practise` of results; what was named most stands first. A judge without a
    name is one for each result. */
export function byStation(lessons) {
  const found = new Map();
  for (const { station, says, judge_key: judge, result } of lessons) {
    if (!station || !["liked", "named", "practise"].includes(says)) continue;
    if (!found.has(station)) found.set(station, { liked: new Set(), named: new Set(), practise: new Set() });
    found.get(station)[says].add(says === "practise" ? result : judge || result);
  }
  return [...found]
    .map(([station, { liked, named, practise }]) => ({
      station,
      liked: liked.size,
      named: named.size,
      practise: practise.size,
    }))
    .sort((one, other) => other.named - one.named || other.liked - one.liked || other.practise - one.practise);
}

/** Words as they are searched: small letters without marks, one space apart. */
const findable = (words) =>
  words
    .toLowerCase()
    .normalize("NFKD")
    .replace(/\p{M}+/gu, "")
    .replace(/[^\p{L}\p{N}]+/gu, " ");

/** The results (rows) in whose critique, what went well or judge some word begins with each word of
    `typed`; none for nothing typed. */
export function searched(results, typed) {
  const wanted = findable(typed).split(" ").filter(Boolean);
  if (!wanted.length) return [];
  return results.filter(({ values: { critique, well, judge } }) => {
    const said = findable(` ${critique ?? ""} ${well ?? ""} ${judge ?? ""}`);
    return wanted.every((word) => said.includes(` ${word}`));
  });
}
