// The first paint: the kennel as it was drawn last, while the store and the rest of the app are
// still being opened. The true one replaces it a moment later.

import { clone, figure, fill, icon, inShell, part } from "./dom.js";

const KEY = "ringside-kennel";
const WIDE = matchMedia("(min-width: 1000px)");
const outlines = new Map();

/** The kennel with `rows` of {id, name, breed, about, figure}; `path` is what is open beside it. */
export function kennelPage(rows, path = "") {
  return fill(clone("kennel"), {
    mark: clone("mark"),
    settings: icon("settings"),
    "add-icon": icon("add"),
    dogs: rows.map((row) => dogRow(row, path)),
    empty: rows.length === 0,
  });
}

function dogRow({ id, name, breed, about, figure: build }, path) {
  const node = fill(clone("dog-row"), { figure: outline(build), name, breed, about });
  const link = part(node, "link");
  link.href = `#/dog/${id}`;
  if (path.startsWith(`dog/${id}`)) link.setAttribute("aria-current", "page");
  return node;
}

/** A drawing without the spots that only a card lights: most of it, and there is one a row. */
function outline(build) {
  if (!outlines.has(build)) {
    const drawing = figure(build, "");
    for (const spot of drawing.querySelectorAll("[data-spot]")) spot.remove();
    outlines.set(build, drawing);
  }
  return outlines.get(build).cloneNode(true);
}

export function remember(rows) {
  try {
    localStorage.setItem(KEY, JSON.stringify(rows));
  } catch {
    // Storage refused or full: the first paint waits for the store.
  }
}

function remembered() {
  try {
    const held = JSON.parse(localStorage.getItem(KEY) ?? "[]");
    return Array.isArray(held) ? held : [];
  } catch {
    return [];
  }
}

const isKennel = /^(#\/?)?$/.test(location.hash) && !WIDE.matches;
const rows = isKennel ? remembered() : [];
if (rows.length) inShell("main").replaceChildren(kennelPage(rows));
