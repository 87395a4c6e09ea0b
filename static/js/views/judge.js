// What one judge said of all dogs: before a show, and after it.

import { byStation } from "../core/results.js";
import { few } from "../core/words.js";
import { generalCard, stationsOf } from "../dogfile.js";
import { clone, fill, icon, part } from "../dom.js";
import { rowsOf } from "../parts/guard.js";
import { dogName } from "../parts/names.js";
import { withOlder } from "../parts/older.js";
import { resultRow, saidRow } from "../parts/results.js";
import { resultsBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "judge/:key": judge };

const AT_ONCE = 12;
// So many are read: what lies further back says little of the next show.
const MOST = 36;

const leadWords = (count) => (count < MOST ? few(count, "result") : `The last ${MOST} results`);

async function judge({ key }) {
  const [book, results, lessons, dogs, card] = await Promise.all([
    resultsBook(),
    store.newest("result", key, MOST),
    store.newest("lesson", key, MOST),
    store.all("dog"),
    generalCard(null),
  ]);
  const names = new Map(stationsOf(card).map((station) => [station.id, station.name]));
  const dogOf = (id) => dogs.find((dog) => dog.id === id);
  // One judge here: what counts at a station is how often it was said.
  const said = byStation(lessons.map(({ values }) => ({ ...values, judge_key: null })));
  const spelt = [...new Set(results.map(({ values }) => values.judge).filter(Boolean))];
  const node = fill(clone("judge"), {
    back: icon("back"),
    title: spelt[0] ?? key,
    lead: results.length ? leadWords(results.length) : "No results under this judge yet.",
    said: rowsOf(said, (sums) => saidRow(names.get(sums.station) ?? sums.station, sums, "time")),
    names: spelt.length > 1 ? `Also written ${spelt.slice(1).join(", ")}.` : null,
  });
  const rowFor = (row) => {
    const dog = dogOf(row.values.dog);
    return resultRow(book, row, [dog ? dogName(dog) : "A dog that is not here"]);
  };
  await withOlder(node, {
    name: `judge ${key}`,
    step: AT_ONCE,
    read: async (most, last) => results.slice(results.indexOf(last) + 1).slice(0, most),
    add: (rows) => part(node, "results").append(...rowsOf(rows, rowFor)),
  });
  part(node, "said-part").hidden = said.length === 0;
  part(node, "results-part").hidden = results.length === 0;
  return { node, title: "Judge", live: true };
}
