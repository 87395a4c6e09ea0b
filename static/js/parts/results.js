// Results in words and rows, wherever they appear.

import { sayDay } from "../core/days.js";
import { judgeKey } from "../core/results.js";
import { few } from "../core/words.js";
import { clone, fill, icon, part, text } from "../dom.js";
import { resultsBook } from "../shipped.js";
import * as store from "../store.js";

/** What a result says of a station. */
export const SAYS = {
  liked: { icon: "preferred", words: "Liked" },
  named: { icon: "missed", words: "Faulted" },
  practise: { icon: "work", words: "Practise" },
};

/** "1st of 4, Excellent"; "" for one that says neither. */
export function placingWords(book, { placing, grade, competing }) {
  const name = (list, id) => list.find((one) => one.id === id)?.name ?? id;
  const place = placing && name(book.placings, placing);
  const of = place && competing ? `${place} of ${competing}` : place;
  return [of, grade && name(book.grades, grade)].filter(Boolean).join(", ");
}

/** A row of a result that leads to it: the day and what came of it, then `about` and what was said. */
export function resultRow(book, { values }, about) {
  const { day, entry, critique } = values;
  const node = fill(clone("result-row"), {
    name: [day ? sayDay(day) : "No day yet", placingWords(book, values)].filter(Boolean).join(": "),
    about: about.filter(Boolean).join(" · ") || null,
    critique: critique?.trim() || null,
    icon: entry ? icon("onward") : null,
  });
  if (entry) part(node, "link").href = `#/entry/${entry}/result`;
  return node;
}

/** A row of what results say of one station (core/results.js): "3 judges faulted it, 1 judge liked it",
    or of `one` "time": "faulted once". */
export function saidRow(name, { named, liked, practise }, one = "judge") {
  const often = (count) => (count === 1 ? "once" : `${count} times`);
  const say = (count, did) => count && (one === "time" ? `${did} ${often(count)}` : `${few(count, one)} ${did} it`);
  const said = [say(named, "faulted"), say(liked, "liked"), practise && `to practise after ${few(practise, "show")}`];
  const kind = named ? "named" : liked ? "liked" : "practise";
  return fill(clone("said-row"), { icon: icon(SAYS[kind].icon), name, words: said.filter(Boolean).join(", ") });
}

const BEFORE = 3;

/** A link to what a judge said before, of any dog, with the last of it; null where there is nothing.
    `entry` is the one that is shown, which is not before itself; `isShort` where there is little room. */
export async function judgeBefore(judge, entry = "", isShort = false) {
  const key = judgeKey(judge);
  const found = key ? await store.newest("result", key, BEFORE + 1) : [];
  const before = found.filter(({ values }) => values.entry !== entry).slice(0, BEFORE);
  if (!before.length) return null;
  const book = await resultsBook();
  const words = before.map(({ values }) =>
    [placingWords(book, values), values.day && sayDay(values.day)].filter(Boolean).join(", "),
  );
  const node = fill(clone("judge-before"), {
    name: `What ${judge.trim()} said before`,
    words: isShort ? null : words.filter(Boolean).join(" · "),
    icon: isShort ? null : icon("onward"),
  });
  if (isShort) node.className = "text-button";
  part(node, "link").href = judgePath(key);
  return node;
}

export const judgePath = (key) => `#/judge/${encodeURIComponent(key)}`;

/** A table behind a drawing: its caption, the names of its columns, its rows of words. */
export function tableNode(caption, columns, rows) {
  const node = fill(clone("result-table"), {
    caption,
    columns: columns.map((words) => {
      const head = /** @type {HTMLTableCellElement} */ (text("th", words));
      head.scope = "col";
      return head;
    }),
  });
  const made = rows.map((cells) => {
    const row = document.createElement("tr");
    row.append(...cells.map((words) => text("td", words)));
    return row;
  });
  return fill(node, { rows: made });
}
