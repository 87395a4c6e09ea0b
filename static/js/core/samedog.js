// Whether two dogs are one: by the numbers and names that the table import knows dogs by too
// (ringside/book/tables/dogs.py). tests/vectors/rules/samedog.json holds the two together.

import { bare } from "./chip.js";

const BY_CALL_NAME = "call name and date of birth";
// What must not differ between dogs that only the call name and the birthday hold together.
const TELLING = ["microchip", "registration", "pedigree", "breed", "sex"];

/** By what `one` (values of a record) is the same dog as `other`; "" if nothing says so. */
export function sameBy(one, other) {
  const theirs = keys(other).map(String);
  const found = keys(one).filter((known) => theirs.includes(String(known)));
  return found.find(([what]) => what !== BY_CALL_NAME || !differ(one, other))?.[0] ?? "";
}

/** Whether a number or a registered name says so, which no two dogs share. */
export const isSure = (by) => by !== "" && by !== BY_CALL_NAME;

function keys({ microchip, registration, pedigree, name, born }) {
  const registered = folded(pedigree);
  const called = folded(name);
  return [
    ["microchip", bare(microchip ?? "")],
    ["registration number", folded(registration).replaceAll(" ", "")],
    ["registered name and date of birth", registered && born && `${registered} ${born}`],
    [BY_CALL_NAME, called && born && `${called} ${born}`],
  ].filter(([, key]) => key);
}

const differ = (one, other) =>
  TELLING.some((name) => one[name] && other[name] && told(one[name]) !== told(other[name]));

const told = (words) => folded(words).replaceAll(" ", "");

const folded = (words) =>
  (
    (words ?? "")
      .toLowerCase()
      .normalize("NFKD")
      .replace(/\p{M}/gu, "")
      .match(/[\p{L}\p{N}]+/gu) ?? []
  ).join(" ");
