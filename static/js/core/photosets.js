// What the marks on the photos of one dog come to: sets of photos that belong together, their readings, and what
// was a year before. Photos and markings are rows of the store; odd ones are left out.

import { limitsFor } from "./asks.js";
import { daysBetween } from "./days.js";
import { held } from "./held.js";
import { combined, leastChange, ownFinding, readings } from "./measure.js";
import { readMarks, roundsOf } from "./photomarks.js";
import { wholeMonths } from "./words.js";

const YEAR = 365; // days
const NEAR = 90; // of a year: what is as far off is not "a year ago" any more

const isMeasurable = (atlas, { values: { view, day, width, height } }) =>
  Boolean(held(atlas.views, view) && day && width > 0 && height > 0);

/** The names of those who marked, who marked last first. */
export const markers = (markings) => [
  ...new Set(
    [...markings]
      .reverse()
      .map(({ values }) => values.by)
      .filter(Boolean),
  ),
];

/** {photo id: its markings} */
function byPhoto(markings) {
  const found = new Map();
  for (const row of markings) found.set(row.values.photo, [...(found.get(row.values.photo) ?? []), row]);
  return found;
}

/** [{view, day, shots: [{photo, marks}]}], the oldest first: the photos of one view and day that `by` marked,
    each as it was marked last.
    @returns {{view: string, day: string, shots: {photo: any, marks: any}[]}[]} */
export function setsOf(atlas, photos, markings, by) {
  const marked = byPhoto(markings);
  const sets = new Map();
  for (const photo of photos.filter((row) => isMeasurable(atlas, row))) {
    const rounds = roundsOf(marked.get(photo.id) ?? [], by);
    if (!rounds.length) continue;
    const { view, day } = photo.values;
    const key = `${day} ${view}`;
    if (!sets.has(key)) sets.set(key, { view, day, shots: [] });
    sets.get(key).shots.push({ photo, marks: readMarks(rounds[rounds.length - 1].values.marks) });
  }
  return [...sets.values()].sort((one, other) => (one.day < other.day ? -1 : 1));
}

/** The photos that `by` marked twice or more, by their ids. */
export const markedTwice = (markings, by) =>
  [...byPhoto(markings)].filter(([id, rows]) => id && roundsOf(rows, by).length > 1).map(([id]) => id);

/** {tem, count}: how `by` finds the marks, {mark: mm}, of those marked twice on enough photos; and on how many
    photos marks were set again without seeing those before. */
export function findingOf(atlas, photos, markings, by) {
  const marked = byPhoto(markings);
  const twice = photos
    .filter((row) => isMeasurable(atlas, row))
    .flatMap((photo) => {
      const marks = roundsOf(marked.get(photo.id) ?? [], by).map((row) => readMarks(row.values.marks));
      return marks.length > 1 ? [[photo.values, marks[0], marks[1]]] : [];
    });
  return { tem: ownFinding(atlas, twice), count: twice.length };
}

/** The readings of a set, as one: [{measure, class, value, u, n, why}]. */
export const readingsOf = (atlas, { shots }, known) =>
  combined(shots.map(({ photo, marks }) => readings(atlas, photo.values, marks, known)));

/** What is asked of a dog that can be measured, of `part`, a pack of its breed: by its own body, or where that
    asks nothing of a measure, by others. */
export function asksOf(part, dog) {
  const all = limitsFor(part?.proportions ?? [], dog, part?.card?.choices);
  const own = all.filter(({ of }) => of === (dog.body ?? "FCI"));
  return (measure) => {
    const [mine, any] = [own, all].map((list) => list.filter(({ measures }) => measures.includes(measure)));
    return mine.length ? mine : any;
  };
}

/** How old a dog was on a day, in whole months; null where its date of birth is not known. */
export const monthsOld = (born, day) => (born && day ? wholeMonths(born, day) : null);

/** Of values by day, the oldest first: {then, change, least}, what was there a year before the last one (or,
    nothing near to that, before it at all), the change since, and the least change that can be believed. */
export function changeOf(series) {
  const now = series[series.length - 1];
  const before = series.slice(0, -1);
  if (!before.length) return null;
  const off = ({ day }) => Math.abs(daysBetween(day, now.day) - YEAR);
  const near = before.filter((one) => off(one) <= NEAR).sort((one, other) => off(one) - off(other));
  const then = near[0] ?? before[before.length - 1];
  const least = leastChange(Math.sqrt((now.u ** 2 + then.u ** 2) / 2));
  return { then, isYear: near.length > 0, change: now.value - then.value, least };
}

const UNITS = { ratio: [2, ""], percent: [0, " %"], degrees: [0, "°"], hours: [1, " h"] };

/** A value in its unit, in words: "1.04", "12°". */
export function inWords(unit, value) {
  const [places, sign] = UNITS[unit] ?? [2, ""];
  const words = Math.abs(value).toFixed(places);
  return `${value < 0 && Number(words) ? "−" : ""}${words}${sign}`;
}

/** "1.04 ± 0.03": with twice its standard uncertainty, rounded up, so that nothing seems surer than it is. */
export function withBounds(unit, { value, u }) {
  const [places, sign] = UNITS[unit] ?? [2, ""];
  const half = Math.ceil(2 * u * 10 ** places - 1e-9) / 10 ** places;
  return `${inWords(unit, value).replace(sign, "")} ± ${half.toFixed(places)}${sign}`;
}
