// The words of the ring: each in a sentence, with its place on the drawing and its source.

import { findTerms } from "../core/terms.js";
import { few } from "../core/words.js";
import { clone, fill, icon, on, part, stationFigure } from "../dom.js";
import { rowsOf } from "../parts/guard.js";
import { lineNode } from "../parts/lines.js";
import { wordsBook } from "../shipped.js";

export const routes = { words };

async function words() {
  const book = await wordsBook();
  const node = fill(clone("words"), { back: icon("back") });
  const rows = new Map();
  const rowFor = (term) => {
    if (!rows.has(term.id)) rows.set(term.id, wordRow(term, book, look));
    return rows.get(term.id);
  };
  const search = part(node, "search");
  const look = (name) => {
    search.value = name;
    draw();
    search.focus();
  };
  const draw = () => {
    const found = findTerms(book.terms, search.value);
    fill(node, {
      list: rowsOf(found, rowFor),
      found: found.length ? few(found.length, "word") : "No such word here. Try its first letters.",
    });
  };
  search.addEventListener("input", draw);
  draw();
  return { node, title: "Words" };
}

function wordRow(term, book, look) {
  const line = lineNode(book, term, { words: term.says, more: term.care });
  const node = fill(clone("word-row"), {
    name: term.name,
    also: term.also ? `Also: ${term.also.join(", ")}` : null,
    line: [line],
    see: term.see ? term.see.map((id) => seeButton(book, id, look)) : null,
  });
  // A drawing for each of a hundred words would be much to draw; who opens one has it.
  on(
    node,
    "source",
    () => {
      if (!part(node, "figure").firstChild) fill(node, { figure: placeOf(term) });
    },
    "toggle",
  );
  return node;
}

const placeOf = ({ station }) => stationFigure({}, station === "movement" ? "go_round" : station);

function seeButton(book, id, look) {
  const { name } = book.terms.find((term) => term.id === id);
  const button = fill(clone("see-word"), { name });
  return on(button, "name", () => look(name));
}
