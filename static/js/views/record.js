// The record of a dog: its placings over time, what judges said of each station, and every result, found
// again by a word of its critique.

import { byStation, heightsOf, searched } from "../core/results.js";
import { few } from "../core/words.js";
import { sayDay } from "../core/days.js";
import { cardOf, dogFile, stationsOf } from "../dogfile.js";
import { clone, fill, icon, on, part } from "../dom.js";
import { chartNode } from "../parts/chart.js";
import { rowsOf, sectionOf } from "../parts/guard.js";
import { dogName, showName } from "../parts/names.js";
import { judgePath, placingWords, resultRow, saidRow, tableNode } from "../parts/results.js";
import { linkRow } from "../parts/rows.js";
import { resultsBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/record": record };

// So many are read; a search, and who asks, reads all.
const NEWEST = 12;
const MOST_LESSONS = 60;
const HEIGHTS = { "-1": "1st", "-2": "2nd", "-3": "3rd", "-4": "4th", "-5": "5th", "-6": "–" };

async function record({ id }) {
  const file = await dogFile(id);
  if (!file) return null;
  const [book, newest, count, lessons] = await Promise.all([
    resultsBook(),
    store.newest("result", id, NEWEST),
    store.count("result", id),
    store.newest("lesson", id, MOST_LESSONS),
  ]);
  const names = new Map(stationsOf(cardOf(file)).map((station) => [station.id, station.name]));
  const said = byStation(lessons.map(({ values }) => values));
  const judges = new Map(newest.flatMap(({ values: { judge, judge_key: key } }) => (key ? [[key, judge ?? key]] : [])));
  const node = fill(clone("record"), {
    back: icon("back"),
    title: `Record: ${dogName(file.dog)}`,
    lead: count ? few(count, "result") : "No results yet. Write one from its entry, after the ring.",
    chart: sectionOf(() => placings(book, newest)),
    said: rowsOf(said, (sums) => saidRow(names.get(sums.station) ?? sums.station, sums)),
    "said-from": lessons.length === MOST_LESSONS ? `From the last ${MOST_LESSONS} marks.` : null,
    judges: [...judges].map(([key, name]) => linkRow(judgePath(key), name)),
    onward: icon("onward"),
  });
  part(node, "back").href = `#/dog/${id}`;
  part(node, "titles").href = `#/dog/${id}/awards`;
  part(node, "said-part").hidden = said.length === 0;
  part(node, "results-part").hidden = count === 0;
  part(node, "judges-part").hidden = judges.size === 0;
  const search = part(node, "search");
  let isWhole = count <= newest.length;

  /** Draw the results that hold what is typed; for nothing typed the newest, or all. */
  async function list() {
    const typed = search.value.trim();
    const all = typed || isWhole ? (await store.about("result", id)).reverse() : newest;
    const found = typed ? searched(all, typed) : all;
    const shows = await showsOf(found);
    if (typed !== search.value.trim()) return;
    fill(node, {
      found: typed ? few(found.length, "result") : "",
      results: rowsOf(found, (row) => resultRow(book, row, [row.values.judge, shows.get(row.values.show)])),
    });
    part(node, "more").hidden = isWhole || typed !== "";
  }
  search.addEventListener("input", list);
  on(node, "more", () => {
    isWhole = true;
    list();
  });
  await list();
  return { node, title: "Record" };
}

/** {id: name} of the shows of some results. */
async function showsOf(results) {
  const ids = [...new Set(results.map(({ values }) => values.show).filter(Boolean))];
  const rows = await store.several("show", ids);
  return new Map(rows.flatMap((row) => (row && !row.values.deleted ? [[row.id, showName(row)]] : [])));
}

/** The placings as a drawing with its table; nothing for fewer than two.
    @returns {Node[]} */
function placings(book, results) {
  const values = results.map((row) => row.values);
  const points = heightsOf(values);
  if (points.length < 2) return [];
  const drawing = chartNode({
    points,
    rows: Object.keys(HEIGHTS).map(Number),
    nameOf: (height) => HEIGHTS[height] ?? "",
    words: `The last ${points.length} placings, the best on top; the table below has them.`,
  });
  const placed = values.filter((one) => one.placing);
  const rows = placed.map((one) => [one.day ? sayDay(one.day) : "No day", placingWords(book, one), one.judge ?? ""]);
  return [
    fill(clone("placing-chart"), { drawing }),
    tableNode("The placings in a table", ["Day", "Result", "Judge"], rows),
  ];
}
