// What came of a show, entry by entry; before it, what its judges said before.

import { lastDay } from "../core/days.js";
import { judgeKey, resultId } from "../core/results.js";
import { localDay } from "../core/words.js";
import { resultsBook } from "../shipped.js";
import * as store from "../store.js";
import { rowsOf } from "./guard.js";
import { dogName } from "./names.js";
import { judgeBefore, placingWords } from "./results.js";
import { linkRow } from "./rows.js";

/** {results, said}: nodes of a show (its values) with these entries (rows); `dogOf` finds an entry's dog. */
export async function showResults(show, entries, dogOf) {
  const today = localDay();
  const said = lastDay(show) >= today ? await saidBefore(entries) : [];
  if (show.day > today) return { results: [], said };
  const ids = entries.map(({ id }) => resultId(id));
  const [book, results] = await Promise.all([resultsBook(), store.several("result", ids)]);
  const rows = entries.flatMap((entry, place) => {
    const [dog, values] = [dogOf(entry), results[place]?.values];
    return dog ? [{ entry, dog, values: values && !values.deleted ? values : {} }] : [];
  });
  const row = ({ entry, dog, values }) =>
    linkRow(`#/entry/${entry.id}/result`, `${dogName(dog)}: ${placingWords(book, values) || "write the result"}`);
  return { results: rowsOf(rows, row), said };
}

async function saidBefore(entries) {
  const judges = new Map(entries.map(({ values }) => [judgeKey(values.judge), values.judge]));
  const found = await Promise.all([...judges.values()].map((judge) => judgeBefore(judge)));
  return found.filter((one) => one !== null);
}
