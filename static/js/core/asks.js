// What of a breed's asks and limits, and of all cues, is one dog's own; the same as varieties.py,
// traits.py and limits_of of limits.py in ringside/domain. tests/vectors/rules/asks.json and cues.json
// hold the two together.

import { held } from "./held.js";

/** Whether an ask or a limit of the breed is one of a dog of this sex, of none of the varieties `others`. */
const holds = (line, sex, others) => (!sex || !line.sex || line.sex === sex) && !others.includes(line.variety);

/** Those of `asks` that are asked of a dog (the values of its record). `choices` are the breed's:
    {choice: {is: varieties, not: varieties}}. */
export function asksFor(asks, { sex, variety }, choices) {
  const others = held(choices, variety)?.not ?? [];
  return asks.filter((ask) => holds(ask, sex, others));
}

/** {trait: value} of a dog: what its breed is, and what its variety is otherwise. */
export const traitsOf = (breed, variety) => ({
  ...breed?.figure,
  ...(held(breed?.kinds, variety) ?? held(breed?.kinds, "")),
});

/** Whether a cue or a caution suits a dog: it has of each trait that the line is `for` one of its values. */
export const suits = (line, traits) =>
  Object.entries(line.for ?? {}).every(([trait, values]) => values.includes(traits[trait] ?? "unknown"));

/** Those of the breed's limits that hold for a dog; of a variety only where it was chosen to be of it.
    @param {any[]} limits */
export function limitsFor(limits, { sex, variety }, choices) {
  const names = held(choices, variety)?.is ?? [];
  const mine = limits.filter((one) => holds(one, sex, []) && (!one.variety || names.includes(one.variety)));
  const barring = new Set(mine.filter(isBar).map(({ of }) => of));
  return mine.map(({ sex: _, variety: __, ...one }) => ({ ...one, ...(isBar(one) && barring.size === 1 && ONLY) }));
}

const ONLY = { only: true };

/** @param {any} limit */
const isBar = (limit) => limit.weight === "disqualifying";

/** The first day on which a dog born on `born` is no puppy any more: a year on, as exam.py counts. */
export function puppyUntil(born) {
  if (!born) return null;
  const day = `${String(Number(born.slice(0, 4)) + 1).padStart(4, "0")}${born.slice(4)}`;
  return day.endsWith("-02-29") ? day.replace("-02-29", "-03-01") : day;
}
