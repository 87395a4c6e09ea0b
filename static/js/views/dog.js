// One dog: what to do with it now, and what matters next, each one tap on.

import { enteredFrom, showsComing } from "../coming.js";
import { nextEntry, sayDay } from "../core/days.js";
import { isWhole, limitState, tidy } from "../core/limits.js";
import { readiness, stateOf } from "../core/practice.js";
import { sentence } from "../core/says.js";
import { age, few, localDay } from "../core/words.js";
import { cardOf, dogFile, openWalk, stationsOf } from "../dogfile.js";
import { clone, figure, fill, icon, part } from "../dom.js";
import { dueToday } from "../due.js";
import { checksOf } from "../parts/checksof.js";
import { putPortrait } from "../parts/portrait.js";
import { rowsOf, sectionOf } from "../parts/guard.js";
import { shortSource } from "../parts/lines.js";
import { dogName, listedName, orderName, showName } from "../parts/names.js";
import { linkRow } from "../parts/rows.js";
import { badgeIcon } from "../parts/standing.js";
import { placeName, walkPath } from "../parts/walkstart.js";
import { practiceOf, workWords } from "../practice.js";
import { breedName, careBook, rulesBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id": dog };

// Among so many measures one is whole.
const NEWEST = 20;
// How a limit stands, the worst first, and the sign that says so.
const LIMITS = { wrong: "caution", off: "missed", unknown: "open", right: "done" };

async function dog({ id }) {
  const file = await dogFile(id);
  if (!file) return null;
  const { values } = file.dog;
  const card = cardOf(file);
  const node = fill(clone("dog"), {
    back: icon("back"),
    name: listedName(file.dog),
    figure: figure(card.figure, "outline"),
    pedigree: values.pedigree || null,
    breed: [await breedName(file.dog), values.variety].filter(Boolean).join(", "),
    about: [values.sex, values.born && age(values.born)].filter(Boolean).join(", "),
    standard: card.standard ? shortSource(card.standard) : null,
    general: generalWords(file),
    now: await nowRows(file),
    orders: rowsOf(file.orders, (order) => linkRow(`#/dog/${id}/order/${order.id}`, orderName(order))),
    record: await recordRows(id),
  });
  // The drawing stands there until the picture comes, and where it does not.
  if (values.portrait) putPortrait(part(node, "figure"), values.portrait).catch(console.warn);
  part(node, "edit").href = `#/dog/${id}/edit`;
  wayIn(node, file, "ring", "Ring");
  wayIn(node, file, "rehearse", "Rehearse");
  part(node, "card").href = `#/dog/${id}/card`;
  part(node, "learn").href = `#/dog/${id}/learn`;
  part(node, "note").href = `#/dog/${id}/note`;
  part(node, "new-order").href = `#/dog/${id}/order/new`;
  return { node, title: dogName(file.dog), live: true };
}

function generalWords(file) {
  if (!file.breed)
    return "We do not know this breed, so this is the general card. You can write your own asks at each station.";
  return file.isGeneral ? "The general card. The breed's standard follows with the next sync." : null;
}

/** The way into a walk: where one is open, right back to its place, with a new one beside it. */
function wayIn(node, file, mode, words) {
  const open = openWalk(file, mode);
  const start = `#/dog/${file.dog.id}/${mode}`;
  fill(node, {
    [mode]: open ? `${words}: go on ${placeName(open, stationsOf(file.base))}` : words,
    [`${mode}-anew`]: open !== null,
  });
  part(node, mode).href = open ? `#/${walkPath(open)}` : start;
  if (!open) return;
  const anew = part(node, `${mode}-anew`);
  anew.href = start;
  anew.setAttribute("aria-label", `Start over: ${words}`);
}

/** What matters now: the next show, what to practise, how the dog stands to its limits, what is due. */
async function nowRows(file) {
  const { id } = file.dog;
  const rows = await Promise.all([
    showRow(id),
    checkRow(file.dog),
    practiceRow(file),
    limitRow(file),
    learnRow(file.dog),
  ]);
  return sectionOf(() => rows.filter((row) => row !== null).map(nowRow));
}

function nowRow({ href, sign, label, words }) {
  const node = fill(clone("now-row"), { icon: sign, label, words, onward: icon("onward") });
  part(node, "link").href = href;
  return node;
}

/** The next show this dog goes to, or else the next it could be entered in. */
async function showRow(id) {
  const today = localDay();
  const entered = await enteredFrom(id, today);
  const row = (href, words) => ({ href, sign: icon("here"), label: "Next show", words });
  const next = nextEntry(entered, today);
  if (next) {
    const { ring, time } = next.entry.values;
    const where = [ring && `ring ${ring}`, time].filter(Boolean);
    return row(`#/gate/${next.entry.id}`, [showName(next.show), sayDay(next.day), ...where].join(" · "));
  }
  const isIn = new Set(entered.map(({ show }) => show.id));
  const free = (await showsComing(today)).find((show) => !isIn.has(show.id));
  return free
    ? row(`#/show/${free.id}/enter/${id}`, `Enter in ${showName(free)}, ${sayDay(free.values.day)}`)
    : row("#/shows/new", "Add a show");
}

/** What the dog is to be looked over for now; null for one of which nothing is due, or where a first visit
    broke off before it came. */
async function checkRow(dog) {
  if (!(await careBook().catch(() => null))) return null;
  const { care, rows } = await checksOf(dog);
  const waiting = rows.filter(({ state }) => state === "due");
  if (!waiting.length) return null;
  const names = waiting.map(({ check }) => care.checks.find(({ id }) => id === check)?.name ?? check);
  const words = names.length > 2 ? `${names[0]} and ${names.length - 1} more are due` : names.join(", ");
  return { href: `#/dog/${dog.id}/checks`, sign: icon("here"), label: "Checks", words };
}

async function practiceRow(file) {
  const { chosen, isMarked } = await practiceOf(file);
  const state = stateOf(readiness(chosen[0].sums, Date.now()));
  return {
    href: `#/dog/${file.dog.id}/practice`,
    sign: badgeIcon(isMarked ? state : "none"),
    label: "Practice",
    words: isMarked ? workWords(chosen) : "No marks yet",
  };
}

/** The limit that the dog stands worst to, or else what it weighs. */
async function limitRow(file) {
  const href = `#/dog/${file.dog.id}/measures`;
  const measured = (await store.newest("measure", file.dog.id, NEWEST)).map((row) => row.values);
  const order = Object.keys(LIMITS);
  const [worst] = file.limits
    .map((limit) => limitState(limit, measured))
    .sort((one, other) => order.indexOf(one.state) - order.indexOf(other.state));
  if (worst) {
    const { says } = await rulesBook();
    const words = sentence(says, worst.words);
    return { href, sign: icon(LIMITS[worst.state]), label: "Condition", words };
  }
  const last = measured.find(isWhole);
  const words = last ? `${tidy(last.value)} ${last.unit} on ${sayDay(last.day)}` : "Nothing written down yet";
  return { href, sign: icon("open"), label: "Condition", words };
}

async function learnRow(dog) {
  const due = await dueToday([dog]);
  const words = due ? `${few(due, "thing")} due today` : "Learn the card";
  return { href: `#/dog/${dog.id}/learn`, sign: icon(due ? "here" : "open"), label: "Learn", words };
}

async function recordRows(id) {
  const [awards, results, photos] = await Promise.all(
    ["award", "result", "photo"].map((kind) => store.count(kind, id)),
  );
  return [
    linkRow(`#/dog/${id}/record`, results ? `Record: ${few(results, "result")}` : "Record"),
    linkRow(`#/dog/${id}/enter`, "May enter: classes and dates"),
    linkRow(`#/dog/${id}/awards`, awards ? `Titles: ${few(awards, "award")}` : "Titles and awards"),
    linkRow(`#/dog/${id}/photos`, photos ? `Photos: ${photos}` : "Photos"),
    linkRow(`#/dog/${id}/proportions`, "Proportions"),
  ];
}
