// What is believed of what a person types, and the reason where it is not: a sentence, null for none;
// of several fields {field: sentence}, or {field: {ask: sentence}} for what may be right. The bounds
// came with the app, and ringside/domain/bounds.py explains them.

import { addDays, daysBetween, lastDay, LONGEST_SHOW, sayDay } from "./days.js";
import { inUnit, tidy } from "./limits.js";

const BASE = { weight: "kg", height: "cm" };
const LIGHT = { weight: ["light", "heavy"], height: ["low", "high"] };

/** Of {field: reason or null} those that have a reason.
    @param {Record<string, any>} found */
export const reasons = (found) => Object.fromEntries(Object.entries(found).filter(([, reason]) => reason));

/** A day of a dog's life: of its birth, or of what was seen, measured or won. `born` may be missing. */
export function dayProblem(bounds, day, { born = null, today }) {
  if (!day) return null;
  if (day > today) return "That day is in the future. Check the date.";
  if (born && day < born) return `The dog was born on ${sayDay(born)}, after that day.`;
  return day < bounds.oldest ? "That is too long ago for a living dog. Check the year." : null;
}

/** A measure on a day: {value, day}. */
export function measureProblems(bounds, { what, value, unit, day }, about) {
  return reasons({ value: sizeProblem(bounds, what, value, unit), day: dayProblem(bounds, day, about) });
}

function sizeProblem(bounds, what, value, unit) {
  const [least, most] = bounds.sizes[what].map((end) => Number(tidy(inUnit(end, BASE[what], unit))));
  if (value === null) return null;
  const [light, heavy] = LIGHT[what];
  const word = value < least ? light : value > most && heavy;
  return word ? `${value} ${unit} is too ${word} for any dog. Check the number and the unit.` : null;
}

/** The days of a show, {day, until}, and the day its entries close. */
export function showProblems(bounds, { day, until, closing }, today) {
  if (!day) return {};
  if (day < bounds.oldest) return { day: "That is too long ago. Check the year." };
  if (day > addDays(today, bounds.farthest_show)) return { day: "That is years ahead. Check the year." };
  return { ...untilProblem(day, until), ...closingProblem(bounds, day, closing) };
}

function untilProblem(day, until) {
  if (!until) return {};
  if (until < day) return { until: "The last day comes before the first. Correct one of them." };
  return daysBetween(day, until) < LONGEST_SHOW
    ? {}
    : { until: `A show has at most ${LONGEST_SHOW} days. Check the month and the year.` };
}

function closingProblem(bounds, day, closing) {
  if (!closing) return {};
  if (closing > day) return { closing: "Entries close before the show begins. Check the day." };
  return closing < addDays(day, -bounds.earliest_closing)
    ? { closing: "That is long before the show. Check the year." }
    : {};
}

/** The day on which a dog is shown, at a show with its values. */
export const shownProblem = (day, show) =>
  day && (day < show.day || day > lastDay(show)) ? "The show does not run on that day. Check its days." : null;

/** The time an entry goes in: a time of day, or words such as "after the Beagles". */
export function timeProblem(time) {
  const [, hour, minute] = time?.match(/^(\d{1,3})(?:[:.h](\d{1,3}))?(?!\d)/) ?? [];
  if (!hour || (!minute && !/^\d+\s*$/.test(time))) return null;
  const isTime = Number(hour) < 24 && Number(minute ?? 0) < 60 && (!minute || minute.length === 2);
  return isTime ? null : `There is no such time as ${time}. Write it like 10:30.`;
}

/** An award: {day, points, country, judge_country, what}. `others` are the values of the dog's others. */
export function awardProblems(bounds, values, { born, today, others }) {
  const { body, day, points } = values;
  const most = bounds.points[body];
  const same = (other) => ["body", "what", "day"].every((name) => other[name] === values[name]);
  return reasons({
    day: dayProblem(bounds, day, { born, today }),
    points: most != null && points > most ? `One show gives ${most} points at most under the ${body}.` : null,
    country: countryProblem(bounds, values.country),
    judge_country: countryProblem(bounds, values.judge_country),
    what: day && others.some(same) ? { ask: "This award is already in the book for that day." } : null,
  });
}

/** A country by its two letters, in either case. */
export function countryProblem(bounds, word) {
  if (!word) return null;
  const code = word.toUpperCase();
  if (!/^[A-Z]{2}$/.test(code)) return "Two letters, such as GB or CZ (ISO 3166-1).";
  if (bounds.countries.split(" ").includes(code)) return null;
  return `No country has the code ${code}${code === "UK" ? "; write GB" : ""}.`;
}

/** An own cue: as many words as can be read at a glance. */
export function cueProblem(bounds, line) {
  const words = line.split(/\s+/).filter(Boolean).length;
  return words > bounds.cue.words
    ? `That is ${words} words. Keep it to ${bounds.cue.words}: you have two seconds.`
    : null;
}
