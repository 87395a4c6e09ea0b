// The countdown to a show, the same as ringside/domain/countdown.py: what is due on which day, and how
// it stands. tests/vectors/countdown.json holds the two together.

import { addDays, daysBetween } from "./days.js";
import { held } from "./held.js";

// As in Python: how many times a task comes again at most, and how far (days) from the show one is believed.
const MOST_TIMES = 60;
const FARTHEST = 3_660;
const WEEK = 7;

/** The tasks of a dog: those for its coat ("" or undefined: not known), its breed and the show's body. */
export function tasksFor(book, { coat, breed, body }) {
  const plan = held(book.plans, coat ?? "") ?? book.plans[""];
  const added = [...(held(book.only, breed) ?? []), ...(held(book.bodies, body) ?? [])];
  const wanted = new Set(plan[held(book.uncut, breed) ? "uncut" : ""]);
  return book.tasks.filter(
    ({ id, coats }) => wanted.has(id) || (added.includes(id) && (!coats || coats.includes(coat))),
  );
}

/** A task of the book as a step: {id, begin, until, every}, days before the show. */
export const stepOf = ({ id, begin, until, every = 0 }) => ({ id, begin, until, every });

/** A task of one's own by its id. Without a day it is due at the show. */
export function ownStep(id, { day, every }, show) {
  const begin = Math.max(-FARTHEST, Math.min(FARTHEST, day ? daysBetween(day, show) : 0));
  return { id, begin, until: Math.min(begin, 0), every: Math.trunc(every ?? 0) };
}

/** All that is due before a show, by day: [{key, step, day, last, state}]. `touched` is {key: {state, day}}.
    @param {any[]} steps
    @param {Map<string, {state?: string, day?: string}>} touched
    @param {string} show its day */
export function laidOut(steps, touched, show) {
  const found = steps.flatMap((step) => timesOf(step, touched, show));
  return found.sort((one, other) => (one.day === other.day ? 0 : one.day < other.day ? -1 : 1));
}

function timesOf({ id, begin, until, every }, touched, show) {
  const begins = [begin];
  while (every && begins[begins.length - 1] - every >= until) begins.push(begins[begins.length - 1] - every);
  return begins.slice(-MOST_TIMES).map((before, place, all) => {
    const key = every ? `${id}@${before}` : id;
    const touch = touched.get(key);
    const day = touch?.day ?? addDays(show, -before);
    const end = addDays(show, -(place + 1 < all.length ? all[place + 1] + 1 : until));
    return { key, step: id, day, last: end < day ? day : end, state: touch?.state ?? "open" };
  });
}

/** Where a thing to do stands on `today`: "done" (skipped too), "past", "today", "week" or "later". */
export function groupOf({ day, last, state }, today) {
  if (state !== "open") return "done";
  if (last < today) return "past";
  if (day <= today) return "today";
  return day <= addDays(today, WEEK) ? "week" : "later";
}
