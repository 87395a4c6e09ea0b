// What there is to learn of a card, which of it makes a round, and when each is asked again: pure.

import { addDays, daysBetween } from "./days.js";
import { answered, interval, wholeDays } from "./fsrs.js";
import { finderOf, termsIn } from "./terms.js";

export const ROUND = 10;
// Longer than this (ms) is slow; ours.
const SLOW = { order: 60_000, other: 20_000 };
const GRADES = { wrong: 1, slow: 2, right: 3 };
const MOST_STABLE = 100_000; // days, as the record takes
// The exam is drawn spot by spot; the other phases light the whole dog.
export const DRAWN = "exam";

const unnamed = (station, words) => !words.toLowerCase().includes(station.name.toLowerCase().replace(/s$/, ""));

/** What the hands do at a station, in a line that does not name it. */
export const handsAt = (station) =>
  station.cues.find((cue) => !cue.own && !cue.home && unnamed(station, cue.do)) ?? null;

/** What a standard asks at a station, where that tells the station without naming it; `finder` finds
    the words of the trade. */
export function tellingAsks(station, finder) {
  const isTold = (ask) =>
    (ask.point && ask.point !== station.id) || termsIn(ask.says, finder).some((term) => term.station === station.id);
  return station.asks.filter((ask) => !ask.own && unnamed(station, ask.says) && isTold(ask));
}

/** All that can be learned of a card, in the order in which it is met: [{key, kind, station, ...}].
    `isOfDog` marks what is so of this dog's breed alone. */
export function itemsOf(card, terms) {
  const exam = card.phases.filter(({ id }) => id === DRAWN);
  const rest = card.phases.filter(({ id }) => id !== DRAWN);
  const core = terms.filter((term) => term.core);
  const finder = finderOf(terms, true);
  const wordsOf = ({ id, stations }) =>
    [...stations.map((station) => station.id), id].flatMap((place) => core.filter((term) => term.station === place));
  const words = [...exam, ...rest].flatMap(wordsOf).map(wordItem);
  const first = exam.flatMap((phase) => [
    ...phase.stations.flatMap((_, at) => pathItems(phase, at, true)),
    order(phase),
  ]);
  const then = [
    ...exam.flatMap((phase) => phase.stations.flatMap((station) => stationItems(station, finder))),
    ...rest.flatMap((phase) => [
      ...phase.stations.flatMap((station, at) => [...pathItems(phase, at), ...stationItems(station, finder)]),
      order(phase),
    ]),
  ];
  return [...first, ...alternate(then, words)].filter(Boolean);
}

const wordItem = (term) => ({ key: `word:${term.id}`, kind: "word", station: term.station, term });

function pathItems({ stations }, at, isDrawn = false) {
  const [here, next] = stations.slice(at, at + 2);
  const place = isDrawn && { key: `place:${here.id}`, kind: "place", station: here.id };
  const onward = next && { key: `next:${here.id}:${next.id}`, kind: "next", station: here.id, next: next.id };
  return [place, onward].filter(Boolean);
}

function stationItems(station, finder) {
  const { id } = station;
  const hands = handsAt(station) && { key: `hands:${id}`, kind: "hands", station: id };
  const ask = tellingAsks(station, finder).length > 0 && { key: `ask:${id}`, kind: "ask", station: id, isOfDog: true };
  const looks = unnamed(station, station.looks) && { key: `looks:${id}`, kind: "looks", station: id };
  return [hands, ask || looks].filter(Boolean);
}

// An order of one's own is another thing to know.
const order = ({ id, stations }) =>
  stations.length > 2 && {
    key: `order:${stations.map((one) => one.id.slice(0, 5)).join("-")}`,
    kind: "order",
    phase: id,
  };

function alternate(one, other) {
  const longest = Math.max(one.length, other.length);
  return Array.from({ length: longest }, (_, at) => [one[at], other[at]]).flat();
}

const isWhole = (state) => state?.stability > 0 && state.difficulty >= 1 && Boolean(state.at && state.due);

/** How an item stands: "new", "due" or "known" until its day; `state` are the values of its record. */
export function standing(state, today) {
  if (!isWhole(state)) return "new";
  return state.due <= today ? "due" : "known";
}

/** The items of a round: what is due, the longest first; else what is new; else what is due soonest.
    @param {any[]} items
    @param {Map<string, any>} states  by key */
export function roundOf(items, states, today) {
  const by = (wanted) => items.filter(({ key }) => standing(states.get(key), today) === wanted);
  const soonest = (found) => found.sort((one, other) => (states.get(one.key).due < states.get(other.key).due ? -1 : 1));
  const due = soonest(by("due"));
  const fresh = due.length ? [] : by("new");
  const chosen = [due, fresh, soonest(by("known"))].find((found) => found.length) ?? [];
  return chosen.slice(0, ROUND);
}

/** What happened, as it is kept: "wrong", "slow" (or with help), "right". */
export function answerOf(item, { isRight, isHelped, took }) {
  if (!isRight) return "wrong";
  return isHelped || took > (SLOW[item.kind] ?? SLOW.other) ? "slow" : "right";
}

/** The values of an item's record after an answer at the moment `at`, on the local day `today`. No
    interval is longer than a third of the days to `show`, the next show's day ("" for none); ours.
    @param {any} state  its values before, if any */
export function learned(state, answer, { at, today, show = "" }) {
  const was = isWhole(state) ? state : null;
  const now = answered(was, GRADES[answer], was ? wholeDays(was.at, at) : 0);
  const most = show > today ? Math.max(1, Math.floor(daysBetween(today, show) / 3)) : Number.POSITIVE_INFINITY;
  const due = addDays(today, Math.min(interval(now.stability), most));
  return { answer, stability: Math.min(now.stability, MOST_STABLE), difficulty: now.difficulty, at, due };
}

/** How many pairs of `given` stand in the order of `wanted`: {right, of}. */
export function pairsRight(given, wanted) {
  const places = given.map((one) => wanted.indexOf(one));
  const pairs = places.flatMap((place, at) => places.slice(at + 1).map((later) => place < later));
  return { right: pairs.filter(Boolean).length, of: pairs.length };
}
