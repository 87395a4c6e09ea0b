// The first paint: home as it was drawn last, while the store and the rest of the app are
// still being opened. The true one replaces it a moment later.

import { nextIn } from "./core/day.js";
import { localDay } from "./core/words.js";
import { clone, figure, fill, icon, inShell, part } from "./dom.js";

const KEY = "ringside-home";
const WIDE = matchMedia("(min-width: 1000px)");

/** Home, of rows as parts/home.js gives them; `path` is what is open beside it. */
export function homePage({ day, title, entries, onward, dogs }, path = "") {
  const isToday = day === localDay() && entries.length > 0;
  const next = nextIn(entries, minutesNow());
  const node = fill(clone("kennel"), {
    mark: clone("mark"),
    settings: icon("settings"),
    "add-icon": icon("add"),
    "day-title": title ? `Today: ${title}` : "Today",
    entries: isToday ? entries.map((row) => entryRow(row, row === next)) : [],
    onward: onward.map(onwardRow),
    dogs: dogs.map((row) => dogRow(row, path)),
    empty: dogs.length === 0,
  });
  if (!isToday) fill(node, { day: null, "dogs-title": null });
  part(node, "add").classList.toggle("main", dogs.length === 0);
  return node;
}

function minutesNow() {
  const now = new Date();
  return now.getHours() * 60 + now.getMinutes();
}

/** One who goes in today: a tap on the row opens the gate check, one beside it Ring. */
function entryRow({ id, name, time, about, walk, isDone }, isNext) {
  const node = fill(clone("day-entry"), {
    time: time || "No time yet",
    name,
    about,
    state: isDone ? [icon("done"), " Shown"] : walk ? walk.about : isNext && "Next: gate check",
  });
  node.classList.toggle("next", isNext);
  part(node, "gate").href = `#/gate/${id}`;
  ringLink(node, walk ? `#/${walk.path}` : `#/entry/${id}/ring`, walk ? "Go on" : "Ring", name);
  return node;
}

function ringLink(node, href, words, name) {
  fill(node, { ring: words });
  const link = part(node, "ring");
  link.href = href;
  link.setAttribute("aria-label", `${words}: ${name}`);
}

function onwardRow({ path, name, about }) {
  const node = fill(clone("onward-row"), { name, about, icon: icon("onward") });
  if (path) part(node, "link").href = `#/${path}`;
  else fill(node, { icon: null });
  return node;
}

function dogRow({ id, name, breed, about, figure: parts }, path) {
  const node = fill(clone("dog-row"), { figure: figure(parts, ""), name, breed, about });
  const link = part(node, "link");
  link.href = `#/dog/${id}`;
  ringLink(node, `#/dog/${id}/ring`, "Ring", name);
  if (path.startsWith(`dog/${id}`)) link.setAttribute("aria-current", "page");
  return node;
}

// More dogs than this are far below the edge of a phone until the true list is there.
const MOST = 25;

export function remember(home) {
  try {
    localStorage.setItem(KEY, written(home));
  } catch {
    // Storage refused or full: the first paint waits for the store.
  }
}

const written = (home) => JSON.stringify({ ...home, dogs: home.dogs.slice(0, MOST) });

/** What was drawn last, or nothing where another version left something else. */
function remembered() {
  try {
    const home = JSON.parse(localStorage.getItem(KEY) ?? "{}");
    return ["entries", "onward", "dogs"].every((rows) => Array.isArray(home[rows])) ? home : null;
  } catch {
    return null;
  }
}

const isHome = /^(#\/?)?$/.test(location.hash) && !WIDE.matches;
const home = isHome ? remembered() : null;
/** @type {HTMLElement | null} */
let drawn = null;
try {
  if (home?.dogs.length) drawn = homePage(home);
  if (drawn) inShell("main").replaceChildren(drawn);
} catch (error) {
  console.warn(error); // The true one is drawn in a moment.
}

/** The page that was drawn first, if it is the true one; once, as it is filled further. */
export function pageOf(now, path) {
  const page = drawn;
  drawn = null;
  const isTrue = page?.isConnected && !path && now.dogs.length <= MOST && written(now) === JSON.stringify(home);
  return isTrue ? page : homePage(now, path);
}
