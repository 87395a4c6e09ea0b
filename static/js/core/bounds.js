// What is believed of what a person types, and the reason where it is not: {field: sentence}, or
// {field: {ask: sentence}} for what may be right. The bounds came with the app, and
// ringside/domain/bounds.py explains them.

import { addDays, daysBetween, LONGEST_SHOW, sayDay } from "./days.js";
import { inUnit, tidy } from "./limits.js";

const BASE = { weight: "kg", height: "cm" };
const LIGHT = { weight: ["light", "heavy"], height: ["low", "high"] };

/** A measure on a day: {value, day}. `born` may be missing. */
export function measureProblems(bounds, { what, value, unit, day }, { born, today }) {
  const found = {};
  const [least, most] = bounds.sizes[what].map((end) => Number(tidy(inUnit(end, BASE[what], unit))));
  if (value !== null && value < least)
    found.value = `${value} ${unit} is too ${LIGHT[what][0]} for any dog. Check the number and the unit.`;
  if (value > most)
    found.value = `${value} ${unit} is too ${LIGHT[what][1]} for any dog. Check the number and the unit.`;
  if (day > today) found.day = "That day is in the future.";
  if (day && born && day < born) found.day = before(born);
  return found;
}

const before = (born) => `The dog was born on ${sayDay(born)}, after that day.`;

/** A day of whelping. */
export function bornProblem(bounds, born, today) {
  if (born > today) return "That day is in the future. Check the year.";
  return born && born < bounds.oldest ? "No dog lives that long. Check the year." : null;
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
  if (until < day) return { until: "The last day comes before the first." };
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
  const found = {};
  if (day > today) found.day = "That day is in the future.";
  if (day && born && day < born) found.day = before(born);
  const most = bounds.points[body];
  if (most != null && points > most) found.points = `One show gives ${most} points at most under the ${body}.`;
  for (const name of ["country", "judge_country"]) {
    const reason = countryProblem(bounds, values[name]);
    if (reason) found[name] = reason;
  }
  const same = (other) => ["body", "what", "day"].every((name) => other[name] === values[name]);
  if (day && others.some(same)) found.what = { ask: "This award is already in the book for that day." };
  return found;
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
