// The day at a ring as people write it: classes ahead, times, paces; and as it is said. Pure.

import { minutesOf } from "./day.js";
import {
  collide,
  dogsBefore,
  endsOf,
  follow,
  HIGH,
  LOW,
  LUNCH,
  MIDDLE,
  quantileAt,
  replay,
  turn,
} from "./ringclock.js";

const MINUTE = 60_000;
const DAY = 24 * 60;
const SMALL = 20; // min: above it nobody reckons to the minute
const MOST_DOGS = 500;
const TAPS = ["judged", "absent", "paused", "goes on", "lunch", "begun", "posted"];

// From so much on two turns that may collide are warned of, and from so much loudly (ours).
export const WARN = 0.05;
export const LOUD = 0.3;
// From one ring to the other, with a change of dog (min; ours).
const WAY = 3;

/** A moment (ms, an instant or a Date) in minutes. */
export const inMinutes = (moment) => Number(typeof moment === "string" ? Date.parse(moment) : moment) / MINUTE;

/** The moment (min) of a time of day such as "10:40" on a day; null for what is none. */
export function momentOf(day, time) {
  const minutes = minutesOf(time);
  if (minutes >= DAY || !day) return null;
  const [year, month, date] = day.split("-").map(Number);
  return inMinutes(new Date(year, month - 1, date, 0, minutes));
}

/** "10:40" of a moment (min). */
export function clockOf(moment) {
  const at = new Date(Math.round(moment) * MINUTE);
  return `${at.getHours()}:${String(at.getMinutes()).padStart(2, "0")}`;
}

const dogsOf = (word) => (/^\d{1,3}$/.test(word) && Number(word) <= MOST_DOGS ? Number(word) : null);

/** The words of what was typed as classes ahead: "8, 6, 10:40, 11". */
export const wordsOf = (typed) =>
  (typed ?? "")
    .split(/[,;\n]/)
    .map((word) => word.trim())
    .filter(Boolean);

/** Why what was typed as classes ahead cannot be used; null if it can. */
export function aheadProblem(typed) {
  const words = wordsOf(typed);
  const odd = words.find((word) => dogsOf(word) === null && minutesOf(word) >= DAY);
  if (odd) return `There is no number of dogs in ${odd}. Write the dogs of each class, like 8, 6, 11.`;
  return words.length > 60 ? "That is more than 60 classes. Put some of them together." : null;
}

/** Whether it is known where an entry stands in its ring. */
export const isPlaced = ({ ahead, before }) => Number.isFinite(before) || (ahead ?? []).some((word) => dogsOf(word));

/** Where an entry stands (core/ringclock.js). `isFloor`: its own time is one before which it is not early. */
export function standOf({ ahead, before, time }, day, isFloor) {
  /** @type {{ahead: number[], before: number, floors: [number, number][]}} */
  const stand = { ahead: [], before: Math.round(before ?? 0), floors: [] };
  const floor = (place, moment) => moment !== null && stand.floors.push([place, moment]);
  for (const word of ahead ?? []) {
    const dogs = dogsOf(word);
    if (dogs === null) floor(dogsBefore({ ...stand, before: 0 }), momentOf(day, word));
    else stand.ahead.push(dogs);
  }
  if (isFloor) floor(dogsBefore({ ...stand, before: 0 }), momentOf(day, time));
  return stand;
}

/** The taps of a ring's rows, in their order; a half one tells nothing. */
export const tapsOf = (rows) =>
  rows
    .map(({ values: { what, at, dogs, until } }) => ({
      what,
      at: inMinutes(at ?? ""),
      dogs: dogs || null,
      until: until ? inMinutes(until) : null,
    }))
    .filter(({ what, at, until }) => TAPS.includes(what) && at && (what !== "posted" || until))
    .sort((one, other) => one.at - other.at);

/** What a ring of a day says: {begins, lunch, pace}; `book` is the ring book. */
export function planOf({ day, values }, body, book) {
  const [from, to] = [momentOf(day, values.lunch_from), momentOf(day, values.lunch_to)];
  return {
    begins: momentOf(day, values.begins),
    lunch: from === null ? null : [from, to !== null && to > from ? to : from + LUNCH],
    pace: values.pace || (pacesOf(book, body)[0] ?? book.pace[0]).minutes,
  };
}

export const pacesOf = (book, body) => book.pace.filter((pace) => pace.body === body);
export const habitsOf = (book, body) => book.habit.filter((habit) => !habit.body || habit.body === body);

/** How an entry stands at `now` (min): {stand, seen, turn, low, middle, high, inRing, isTimed}. `isTimed` is
    false where nothing tells when its ring begins.
    @param {{entry: any, ring: any, body: string}} about `ring` is {day, values, taps} */
export function standingAt({ entry, ring, body }, book, now) {
  const plan = planOf(ring, body, book);
  const isPrinted = habitsOf(book, body).some((habit) => habit.never_early);
  const ends = endsOf(standOf(entry, ring.day, false));
  const seen = replay(ring.taps, ends, now, plan.lunch);
  // Until judging begins, the entry's own time may be all there is to go by.
  const isAlone = plan.begins === null && !seen.hasBegun;
  const stand = standOf(entry, ring.day, isPrinted || isAlone);
  const found = turn(stand, seen, plan.pace, now, plan.begins);
  return {
    stand,
    seen,
    plan,
    turn: found,
    low: quantileAt(found, LOW),
    middle: quantileAt(found, MIDDLE),
    high: quantileAt(found, HIGH),
    inRing: found.pace.unit * (1 + found.pace.closing),
    isTimed: !isAlone || stand.floors.length > 0,
  };
}

/** The step that is to be done, and the next one, `minutes` before the turn may come. */
export function stepsAt(steps, minutes) {
  const reached = steps.filter((step) => !step.minutes || step.minutes >= minutes);
  const place = reached.length - 1;
  return { place, now: steps[place], next: steps[place + 1] ?? null };
}

const down = (minutes) => (minutes > SMALL ? Math.floor(minutes / 5) * 5 : Math.floor(minutes));
const up = (minutes) => (minutes > SMALL ? Math.ceil(minutes / 5) * 5 : Math.ceil(minutes));

/** "35 min", "2 h 10 min". */
export function spanWords(minutes) {
  const whole = minutes > SMALL ? Math.round(minutes / 5) * 5 : Math.round(minutes);
  const hours = Math.floor(whole / 60);
  return hours < 2 ? `${whole} min` : `${hours} h${whole % 60 ? ` ${whole % 60} min` : ""}`;
}

/** "25–50 min", of moments from `now` (min). */
export function rangeWords({ low, high }, now) {
  const [least, most] = [down(low - now), Math.max(up(high - now), 1)];
  return most < 120 ? `${least}–${most} min` : `${spanWords(least)} to ${spanWords(most)}`;
}

/** Which dogs of a day may collide, the likeliest pair first: [{one, other, chance, isOneClass}]. `standings`
    are of entries that are still to go in: {ring: {id}, klass, ...standingAt}.
    @param {any[]} standings */
export function meetings(standings, warn = WARN) {
  return standings
    .flatMap((one, place) => standings.slice(place + 1).map((other) => meeting(one, other)))
    .filter(({ chance }) => chance >= warn)
    .sort((one, other) => other.chance - one.chance);
}

function meeting(one, other) {
  const told = { one, other, isOneClass: false };
  if (one.ring.id !== other.ring.id)
    return { ...told, chance: collide(one.turn, other.turn, [one.inRing, other.inRing], WAY) };
  if (isOneClass(one, other)) return { ...told, chance: 1, isOneClass: true };
  const [first, second] = [one, other].sort((a, b) => dogsBefore(a.stand) - dogsBefore(b.stand));
  return { ...told, chance: follow(first.stand, second.stand, first.seen, first.plan.pace, first.inRing, WAY) };
}

const isOneClass = (one, other) =>
  Boolean(one.klass) && one.klass === other.klass && String(one.stand.ahead) === String(other.stand.ahead);
