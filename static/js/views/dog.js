// One dog: what to do with it now, and how its practice stands.

import { showsComing } from "../coming.js";
import { sayDay } from "../core/days.js";
import { isWhole, tidy } from "../core/limits.js";
import { age, ago, few, localDay } from "../core/words.js";
import { cardOf, dogFile, openWalk, readiness, stationsOf } from "../dogfile.js";
import { clone, figure, fill, icon, part } from "../dom.js";
import { rowsOf } from "../parts/guard.js";
import { shortSource } from "../parts/lines.js";
import { dogName, listedName, orderName } from "../parts/names.js";
import { linkRow, readyRow } from "../parts/rows.js";
import { breedName } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id": dog };

// Among so many measures one is whole.
const NEWEST = 20;

async function dog({ id }) {
  const file = await dogFile(id);
  if (!file) return null;
  const { values } = file.dog;
  const card = cardOf(file);
  const ring = openWalk(file, "ring");
  const rehearsal = openWalk(file, "rehearse");
  const node = fill(clone("dog"), {
    back: icon("back"),
    name: listedName(file.dog),
    figure: figure(card.figure, "outline"),
    pedigree: values.pedigree || null,
    breed: [await breedName(file.dog), values.variety].filter(Boolean).join(", "),
    about: [values.sex, values.born && age(values.born)].filter(Boolean).join(", "),
    standard: card.standard ? shortSource(card.standard) : null,
    general: generalWords(file),
    ring: ring ? "Ring: take up again" : "Ring",
    next: [await nextRow(id)],
    rehearse: rehearsal ? "Rehearse: take up again" : "Rehearse",
    orders: rowsOf(file.orders, (order) => linkRow(`#/dog/${id}/order/${order.id}`, orderName(order))),
    record: await recordRows(id),
    ...(await practiceParts(file, card)),
  });
  part(node, "edit").href = `#/dog/${id}/edit`;
  part(node, "ring").href = ring ? `#/ring/${ring.id}` : `#/dog/${id}/ring`;
  part(node, "rehearse").href = rehearsal ? `#/rehearsal/${rehearsal.id}` : `#/dog/${id}/rehearse`;
  part(node, "card").href = `#/dog/${id}/card`;
  part(node, "learn").href = `#/dog/${id}/learn`;
  part(node, "note").href = `#/dog/${id}/note`;
  part(node, "new-order").href = `#/dog/${id}/order/new`;
  return { node, title: dogName(file.dog), live: true };
}

function generalWords(file) {
  if (!file.breed)
    return "This breed is not in our library, so the card is the general one. At each station you can write your own asks.";
  return file.isGeneral
    ? "The general card, until this phone next sees the book and fetches the breed's standard."
    : null;
}

/** The next show this dog goes to, or else the next it could be entered in. */
async function nextRow(id) {
  const [shows, entries] = await Promise.all([showsComing(localDay()), store.about("entry", id)]);
  const entryAt = (show) => entries.find(({ values }) => values.show === show.id);
  const next = shows.find(entryAt);
  if (next) {
    const { id: entry, values } = entryAt(next);
    const where = [values.ring && `ring ${values.ring}`, values.time].filter(Boolean);
    return linkRow(`#/gate/${entry}`, [next.name, sayDay(values.day ?? next.day), ...where].join(" · "));
  }
  return shows.length
    ? linkRow(`#/show/${shows[0].id}/enter/${id}`, `Enter in ${shows[0].name}, ${sayDay(shows[0].day)}`)
    : linkRow("#/show/new", "Add a show");
}

async function recordRows(id) {
  const [measured, awards] = await Promise.all([store.newest("measure", id, NEWEST), store.count("award", id)]);
  const weighed = measured.map((row) => row.values).find(isWhole);
  return [
    linkRow(`#/dog/${id}/enter`, "May enter: classes and dates"),
    linkRow(
      `#/dog/${id}/measures`,
      weighed
        ? `Weight and height: ${tidy(weighed.value)} ${weighed.unit} on ${sayDay(weighed.day)}`
        : "Weight and height",
    ),
    linkRow(`#/dog/${id}/awards`, awards ? `Titles: ${few(awards, "award")}` : "Titles and awards"),
  ];
}

async function practiceParts(file, card) {
  const grades = await readiness(file);
  const marked = stationsOf(card).filter((station) => grades.has(station.id));
  const rows = rowsOf(marked, (station) => readyRow(file.dog.id, station, grades.get(station.id)));
  const last = [...grades.values()]
    .map(({ at }) => at)
    .sort()
    .at(-1);
  const words = rows.length
    ? `${few(rows.length, "station")} rehearsed; last ${ago(last)}.`
    : "Not rehearsed yet. Walk the card at home and mark how each station went.";
  return { "practice-words": words, ready: rows };
}
