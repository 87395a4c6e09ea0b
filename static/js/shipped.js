// What came with the app: the knowledge that screens look things up in, precached with its build, so
// that it needs no signal.

import { breedIn, breedsOf, withNames } from "./core/breeds.js";

const MISSING = "Part of the app is missing. Open it once with a signal.";
const loading = new Map();

/** The file `name`.json, parsed; read once. */
function shipped(name) {
  if (!loading.has(name)) {
    const data = read(name);
    data.catch(() => loading.delete(name));
    loading.set(name, data);
  }
  return loading.get(name);
}

async function read(name) {
  const answer = await fetch(new URL(`../${name}.json`, import.meta.url));
  if (!answer.ok) throw new Error(MISSING);
  return answer.json();
}

/** Add the sheet of the screens for home, beside the page's own. */
export async function takeInSheet() {
  const own = /** @type {HTMLLinkElement} */ (document.querySelector('link[href$="pocket.css"]'));
  const sheet = /** @type {HTMLLinkElement} */ (own.cloneNode());
  sheet.href = own.href.replace(/pocket\.css$/, "athome.css");
  await new Promise((done, fail) => {
    sheet.onload = done;
    sheet.onerror = () => {
      sheet.remove(); // the next try adds its own
      fail(new Error(MISSING));
    };
    own.after(sheet);
  });
}

/** Add the markup that the file `name`.html holds to the page. A request parses it: the policy lets no script
    make elements of a string. */
export async function takeInMarkup(name) {
  const request = new XMLHttpRequest();
  request.open("GET", new URL(`../${name}.html`, import.meta.url));
  request.responseType = "document";
  await new Promise((done, fail) => {
    request.onload = done;
    request.onerror = fail;
    request.send();
  });
  const templates = request.responseXML?.querySelectorAll("template") ?? [];
  if (!templates.length) throw new Error(MISSING);
  document.body.append(...templates);
}

/** {kind: declaration} of all kinds of record (ringside/book/kinds). */
export const kinds = () => shipped("kinds");

/** {general, breeds}: what every screen needs; why a cue is given is a number there, and the breeds are
    as they are told. */
export const knowledge = () => shipped("knowledge");

/** All breeds by name (core/breeds.js). */
export const allBreeds = async () => breedsOf((await knowledge()).breeds);

/** The breeds with all their names, to look for one. */
export async function namedBreeds() {
  const [breeds, names] = await Promise.all([allBreeds(), shipped("names")]);
  return withNames(breeds, names);
}

/** What a show needs beside its dogs' packs is one file: its parts, by the names below. */
const ofShow = async (part) => (await shipped("show"))[part];

/** {windows, bars, gate, chips, says, bounds}: what is the same for all dogs at a show (ringside/domain/pack.py). */
export const rulesBook = () => ofShow("rules");

/** The same with {awards, rare, asked, held, habits, practice}: what is the same for all dogs at home. */
export async function homeBook() {
  const [rules, home] = await Promise.all([rulesBook(), shipped("home")]);
  return { ...rules, ...home };
}

/** {sources, common, memory}: where everything comes from. */
export const sourcesBook = () => shipped("sources");

/** {says, scores, checks, looks, lines, sources}: condition and puppies (ringside/domain/care.py). */
export const careBook = () => shipped("care");

/** {pace, habit, step, sources}: the day at the ring (ringside/domain/ringbook.py). */
export const ringBook = () => ofShow("ring");

/** {tasks, cautions, plans, only, bodies, uncut, sources}: before a show (ringside/domain/countdown.py). */
export const countdownBook = () => shipped("countdown");

/** {aid, sign, limit, risk, breed, car, line, sources}: heat at a show (ringside/domain/heat.py). */
export const heatBook = () => ofShow("heat");

/** {atlas, views, marks, measures, lines, refused, withheld, sources}: to measure photos by (ringside/domain/photo.py). */
export const photoBook = () => shipped("photo");

/** {placings, grades, only, lines, sources}: the words of results (ringside/domain/results.py). */
export const resultsBook = () => ofShow("results");

/** {terms, sources}: the glossary. */
export const wordsBook = () => shipped("words");

/** The glossary for a screen that does without it, where a first visit broke off before it came. */
export const wordsAtHand = () => wordsBook().catch(() => ({ terms: [], sources: {} }));

/** Why each cue is given, by its number. */
export const reasonsBook = () => shipped("reasons");

/** The same, likewise. */
export const reasonsAtHand = () => reasonsBook().catch(() => []);

/** A breed by its id; null where there is none of it. */
export const breedById = async (id) => breedIn((await knowledge()).breeds, id);

export const breedOf = (dog) => breedById(dog.values.breed);

export async function breedName(dog) {
  return (await breedOf(dog))?.name ?? dog.values.breed ?? "";
}
