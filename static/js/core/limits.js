// How a weight or a height stands to the limits of the standards; the same as the second half of
// ringside/domain/limits.py. tests/vectors/rules/limits.json holds the two together. Measures are the
// values of records, newest first; a half record (no value, no day, a unit of another kind) is none.

import { sayDay } from "./days.js";

/** The units of each kind of measure. */
export const UNITS = { weight: ["kg", "lb"], height: ["cm", "in"] };
// In kilograms and centimetres: the yard and pound of 1959.
const SCALE = { kg: 1, lb: 0.45359237, cm: 1, in: 2.54 };
const SLACK = 1e-6;

/** A measure in another unit of its kind. */
export const inUnit = (value, from, to) => (value * SCALE[from]) / SCALE[to];

/** How a value stands to a limit: by how much it is under or over, 0 within. */
export function beyond(limit, value) {
  if (limit.high != null && value > limit.high + SLACK) return value - limit.high;
  if (limit.low != null && value < limit.low - SLACK) return value - limit.low;
  return 0;
}

/** Whether a measure is whole: a value in a unit of its kind, on a day. */
export const isWhole = ({ what, value, unit, day }) => Boolean(value != null && day && UNITS[what]?.includes(unit));

/** The newest measure of one kind, or null. */
export const newest = (measures, what) => measures.find((one) => one.what === what && isWhole(one)) ?? null;

/** How a limit stands: {state, words, more} (sayings); "wrong" is beyond a limit that disqualifies,
    "off" beyond another, else "right" or "unknown". */
export function limitState(limit, measures) {
  const { what, of } = limit;
  const isBar = limit.weight === "disqualifying";
  /** @type {import("./says.js").Saying[]} */
  const asked = [{ says: "limit", of, ask: limit.says }];
  if (isBar) asked.push({ says: limit.only ? "bars-only" : "bars", of });
  const last = newest(measures, what);
  if (!last) return { state: "unknown", words: { says: `${what}-unknown` }, more: asked };
  const off = beyond(limit, inUnit(last.value, last.unit, limit.unit));
  const more = [{ says: "measured", value: tidy(last.value), unit: last.unit, day: sayDay(last.day) }, ...asked];
  if (off === 0) return { state: "right", words: { says: `${what}-right`, of }, more };
  const by = { by: tidy(inUnit(Math.abs(off), limit.unit, last.unit)), unit: last.unit, of };
  if (isBar) return { state: "wrong", words: { says: `${what}-${off > 0 ? "over" : "under"}`, ...by }, more };
  return { state: "off", words: { says: off > 0 ? "over" : "under", ...by }, more: [...more, { says: "no-bar" }] };
}

/** Where a limit comes from (sayings). */
export const limitSource = ({ source, read }) => [
  { says: "source", source },
  ...(read && read !== "copy" ? [{ says: `text-${read}` }] : []),
  { says: "own-words" },
];

/** A number to one place, or to two where one place would make it nothing. */
export function tidy(number) {
  const places = number < 0.05 ? 100 : 10;
  return String(Math.max(Math.round(number * places) / places, 0.01));
}
