// Heat: first aid on top behind one tap, then when to act, the limits of the show's body, what is known
// of this dog's risk, and the parked car. It lists what is published and reassures nobody.

import { held } from "../core/held.js";
import { risksOf } from "../core/heat.js";
import { inUnit, isWhole } from "../core/limits.js";
import { localDay } from "../core/words.js";
import { clone, fill, icon, part, text } from "../dom.js";
import { entryAndShow } from "../parts/entries.js";
import { lineNode } from "../parts/lines.js";
import { dogName } from "../parts/names.js";
import { breedOf, heatBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { heat: heatOfAny, "show/:id/heat": heatOfShow, "entry/:id/heat": heatOfEntry };

function heatOfAny() {
  return page({ back: "" });
}

async function heatOfShow({ id }) {
  const show = await store.get("show", id);
  return show && !show.values.deleted ? page({ back: `show/${id}`, body: show.values.body }) : null;
}

async function heatOfEntry({ id }) {
  const found = await entryAndShow(id);
  if (!found) return null;
  const dog = await store.get("dog", found.entry.values.dog);
  return page({ back: `gate/${id}`, body: found.show.values.body, dog: dog && !dog.values.deleted ? dog : null });
}

const UNKNOWN = { breed: null, isShort: null, born: null, kg: null };

/** @param {{ back: string, body?: string | null, dog?: any }} of whose show and which dog, where known */
async function page({ back, body, dog = null }) {
  const [book, about] = await Promise.all([heatBook(), dog ? aboutDog(dog) : UNKNOWN]);
  const lines = (rows, mark = "") => rows.map((line) => lineNode(book, line, { mark, words: line.says }));
  const limits = body ? book.limit.filter((limit) => limit.body === body) : book.limit;
  const node = fill(clone("heat"), {
    back: icon("back"),
    "aid-icon": icon("caution"),
    aid: book.aid.map((step) => stepNode(book, step)),
    signs: lines(book.sign, "caution"),
    "limit-title": body ? `Limits for shows under the ${body}` : "Limits for shows",
    "no-limit": limits.length ? null : `We found no temperature that the ${body} publishes for its shows.`,
    limits: lines(limits),
    "risk-title": dog ? `Risk: ${dogName(dog)}` : "Risk",
    risks: [...oddsNodes(book, about.breed), ...lines(risksOf(book.risk, { ...about, today: localDay() }))],
    car: book.car.map(carRow),
    "car-lines": lines(book.line),
  });
  part(node, "back").href = `#/${back}`;
  return { node, title: "Heat" };
}

/** What of a dog the book speaks of. */
async function aboutDog(dog) {
  const [breed, measured] = await Promise.all([breedOf(dog), store.newestBy("measure", dog.id, ["weight"])]);
  const weight = measured.get("weight")?.values;
  return {
    breed,
    isShort: breed?.figure?.short_faced ?? dog.values.short_faced,
    born: dog.values.born ?? null,
    kg: weight && isWhole(weight) ? inUnit(weight.value, weight.unit, "kg") : null,
  };
}

/** The odds of the dog's breed, if a paper gives any. */
function oddsNodes(book, breed) {
  const odds = held(book.breed, breed?.id);
  if (!odds) return [];
  const words = `${breed.name}: about ${odds.times} times the risk of a Labrador Retriever.`;
  return [lineNode(book, odds, { mark: "caution", words })];
}

/** A step of first aid, its source one tap away. */
function stepNode(book, step) {
  const line = lineNode(book, step, { words: "" });
  return fill(clone("heat-step"), {
    name: step.name,
    says: step.says,
    "source-name": part(line, "source-name").textContent,
    "source-words": part(line, "source-words").textContent,
  });
}

function carRow({ id, rise }) {
  const row = document.createElement("tr");
  const head = text("th", `${id} minutes`);
  head.setAttribute("scope", "row");
  row.append(head, text("td", `${rise.toFixed(1)} °C`));
  return row;
}
