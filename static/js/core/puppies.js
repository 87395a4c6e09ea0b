// What a puppy is looked over for on a day: what is due, what was found, what is to come; the same as
// ringside/domain/puppies.py. tests/vectors/puppies.json holds the two together. Records are values,
// {what, found, day}; a half one counts for nothing.

import { addDays } from "./days.js";

export const TESTES = "testes";
const FELT = ["both", "one", "none"];
const GOOD = ["both", "good"];
const AGAIN = "not yet";
const LATEST = "9990-01-01";
const LAST = "9999-12-31";
const ORDER = ["due", "open", "coming", "done", "past"];

/** How each check of a dog stands: [{check, state, look, day, last}], what is due first. */
export function due(checks, looks, { born, sex, records, today }) {
  return checks
    .filter((check) => !(check.sex && sex && check.sex !== sex))
    .map((check) =>
      rowOf(
        check,
        looks.filter((look) => look.check === check.id),
        { born, records, today },
      ),
    )
    .sort((one, other) => rank(one) - rank(other) || (one.day ?? "").localeCompare(other.day ?? ""));
}

const rank = ({ state }) => ORDER.indexOf(state);

function rowOf(check, looks, { born, records, today }) {
  // A year typed in part may be one after which the calendar ends.
  const on = (weeks) => (born > LATEST ? LAST : addDays(born, weeks * 7));
  const last = newestCheck(records, check.id);
  const begun = looks.filter((look) => on(look.weeks) <= today);
  const now = begun[begun.length - 1];
  if (now && today < on(now.until)) {
    const since = on(now.weeks);
    if (!last || last.day < since || last.found === AGAIN) return told(check, "due", now, since, last);
  }
  const following = looks[begun.length];
  const day = following ? on(following.weeks) : null;
  if (last) return told(check, GOOD.includes(last.found) ? "done" : "open", following, day, last);
  return told(check, following ? "coming" : "past", following, day, null);
}

const told = (check, state, look, day, last) => ({
  check: check.id,
  state,
  look: look?.id ?? null,
  day,
  last: last && { found: last.found, day: last.day },
});

/** The newest whole record of a check; of two of one day the later of the list. */
export function newestCheck(records, what) {
  let newest = null;
  for (const one of records) if (one.what === what && one.found && one.day && !(newest?.day > one.day)) newest = one;
  return newest;
}

/** What was felt last of the testes, {testes, testes_on}: by the dog's record, or by its newest check.
    @param {any} values
    @param {any} last */
export function felt({ testes = null, testes_on: on = null }, last) {
  const onRecord = { testes, testes_on: on };
  if (!last?.day || !FELT.includes(last.found)) return onRecord;
  return testes && (on ?? "") > last.day ? onRecord : { testes: last.found, testes_on: last.day };
}
