// Every source the app rests on, by body: number, date, address, and when we last looked.

import { sayDay } from "../core/days.js";
import { clone, fill, icon } from "../dom.js";
import { edition } from "../parts/lines.js";
import { sourcesBook } from "../shipped.js";

export const routes = { sources };

const READ = { copy: "read in a copy", secondary: "read in a second-hand account", memory: "from memory" };

async function sources() {
  const book = await sourcesBook();
  const node = fill(clone("sources"), {
    back: icon("back"),
    words: `${book.sources.length} published texts, ${book.common} lines of common practice and ${book.memory} from memory. Tap a line of a card to see its source.`,
    groups: groupsOf(book.sources),
  });
  return { node, title: "Sources" };
}

function groupsOf(all) {
  const bodies = Map.groupBy ? Map.groupBy(all, (one) => one.body) : grouped(all);
  return [...bodies].map(([body, own]) =>
    fill(clone("source-group"), { name: `${body} (${own.length})`, list: own.map(rowOf) }),
  );
}

function grouped(all) {
  const bodies = new Map();
  for (const one of all) bodies.set(one.body, [...(bodies.get(one.body) ?? []), one]);
  return bodies;
}

function rowOf({ title, number, date, address, read, checked, note }) {
  const words = edition({ title, number, date: date || "undated" });
  const more = [READ[read ?? "copy"], `checked ${sayDay(checked)}`, note, address].filter(Boolean).join("; ");
  return fill(clone("source-row"), { words, more });
}
