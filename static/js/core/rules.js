// Looking things up in a pack by date: the windows were computed by ringside/domain/eligibility, and
// a show of several days is read as that room reads it (tests/vectors/rules/shows.json).

import { addDays, daysBetween, lastDay, sayDay } from "./days.js";
import { held } from "./held.js";
import { sentence } from "./says.js";

const VERDICTS = { y: "may", n: "may not", i: "may if" };
export const READS = { c: "copy", s: "secondary", m: "memory" };
const MISFITS = { y: "young", o: "old" };
const TRUST = ["memory", "secondary", "copy"];

/** The rules of a show: its body's, of the FCI those of the member body that holds it where we have them. */
export const rulesOf = (rules, { body, member }) => {
  const key = (body ?? "").toLowerCase();
  return member && held(rules.b, `${key}-${member}`) ? `${key}-${member}` : key;
};

/** The rulings of one body on one day: [{klass, name, verdict, why, ...}], in the body's order. */
export function rulings(enter, rules, body, day) {
  if (!enter || day < enter.born) return [];
  return classesOf(enter, rules, body).map((klass) => ruling(enter, rules, body, klass, day));
}

/** The ruling of one class on one day. `from` and `to` bound the days around it on which the verdict
    is the same, `opens` is the first day after a "may not" (each null where there is none). `age` is
    "young" or "old" where it is the age that bars. */
export function ruling(enter, rules, body, klass, day) {
  const known = knownOf(rules, body);
  const about = { klass, name: known.c[klass].n, note: known.c[klass].u ?? "", decides: decides(known, klass) };
  if (day < enter.born) return { ...about, ...unborn(rules, known, klass), from: null, to: null, opens: enter.born };
  const rows = rowsOf(enter, known, body, klass);
  const place = Math.max(
    rows.findLastIndex(([from]) => from <= day),
    0,
  );
  const verdictAt = (one) => rows[one][1][0];
  let first = place;
  while (first > 0 && verdictAt(first - 1) === verdictAt(place)) first -= 1;
  const next = rows.findIndex((_, one) => one > place && verdictAt(one) !== verdictAt(place));
  const turns = next < 0 ? null : rows[next][0];
  return {
    ...about,
    ...said(enter, known, klass, rows[place]),
    from: first === 0 ? null : rows[first][0],
    to: turns && addDays(turns, -1),
    opens: verdictAt(place) === "n" ? turns : null,
  };
}

const classesOf = (enter, rules, body) => Object.keys(held(enter.w, held(rules.b, body)?.of ?? body) ?? {});

// What is known of a body; of a member body what it words itself over what its body does.
function knownOf(rules, body) {
  const own = rules.b[body];
  const base = own.of && rules.b[own.of];
  return base ? { ...base, ...own, c: { ...base.c, ...own.c } } : own;
}

// A member body has rows of its own for the classes that it words itself; a pack of before has none.
const rowsOf = (enter, known, body, klass) => held(held(enter.w, body), klass) ?? enter.w[known.of ?? body][klass];

/** All that is ever said of one class: [{from, to, ...ruling}]; the last has no end. */
export function windows(enter, rules, body, klass) {
  const known = knownOf(rules, body);
  const rows = rowsOf(enter, known, body, klass);
  return rows.map((row, place) => ({
    klass,
    ...said(enter, known, klass, row),
    from: row[0],
    to: rows[place + 1] ? addDays(rows[place + 1][0], -1) : null,
  }));
}

/** The class of a body that opens first: {name, verdict, from}, or null; of several the youngest's. */
export function firstClass(enter, rules, body) {
  const opening = classesOf(enter, rules, body).flatMap((klass) => {
    const first = windows(enter, rules, body, klass).find((one) => one.verdict !== "may not");
    return first ? [{ ...first, name: knownOf(rules, body).c[klass].n }] : [];
  });
  const plain = opening.filter((one) => one.verdict === "may");
  return (
    (plain.length ? plain : opening).sort((one, other) =>
      one.from < other.from ? -1 : one.from > other.from ? 1 : 0,
    )[0] ?? null
  );
}

function said(enter, known, klass, [, code, words, fact = "", readings = []]) {
  const [clause, edition, read] = factOf(known, klass, fact);
  return {
    verdict: VERDICTS[code[0]],
    read: READS[code[1]] ?? READS[read],
    age: MISFITS[code[2]] ?? "",
    why: whole(enter.s, words),
    readings: readings.map((one) => enter.s[one]),
    clause,
    edition: known.e[edition],
    instead: known.c[klass].q?.[fact]?.i ?? null,
  };
}

function unborn(rules, known, klass) {
  const [clause, edition, read] = known.c[klass].f;
  return {
    verdict: "may not",
    read: READS[read],
    age: "",
    why: `${rules.s.unborn}.`,
    readings: [],
    clause,
    edition: known.e[edition],
    instead: null,
  };
}

/** A place in the sentences, or [sentence, condition, ...]: "a; only if b, and c." */
function whole(sentences, places) {
  const [first, ...conditions] = [places].flat().map((place) => sentences[place]);
  return conditions.length ? `${first}; only if ${conditions.join(", and ")}.` : `${first}.`;
}

function factOf(known, klass, fact) {
  if (!fact) return known.c[klass].f;
  return known.c[klass].q?.[fact]?.f ?? known.f[fact] ?? known.c[klass].f;
}

/** Where a ruling comes from: {name} for its face, {words} one tap away. */
export function sourceOf(rules, { clause, edition, read, note = "" }) {
  const say = (says) => sentence(rules.s, { says, clause, edition });
  return {
    name: read === "copy" ? clause : say(`clause-${read}`),
    words: [say("clause"), read === "copy" ? "" : say(`read-${read}`), note].filter(Boolean).join(" "),
  };
}

// --- a show of several days

const decides = (known, klass) => known.c[klass].d ?? known.d;

/** The ruling of one class at a show `{first, last, shown}`: the days of the show, and the day on
    which this dog is in the ring (the last two may be missing). `day` is the day it speaks of. */
export function rulingAt(enter, rules, body, klass, show) {
  const on = (day) => ({ ...ruling(enter, rules, body, klass, day), day });
  const known = knownOf(rules, body);
  const days = daysOf(show);
  const by = decides(known, klass);
  if (by === "closing date") {
    return { ...on(days[0]), verdict: "may if", age: "", why: `${rules.s["closing-unknown"]}.`, readings: [] };
  }
  if (by === "first day" || days.length === 1) {
    const first = on(days[0]);
    if (days.every((day) => on(day).verdict === first.verdict)) return first;
    return { ...first, read: weakest(first.read, READS[known.c[klass].r ?? known.f.ages[2]]) };
  }
  const own = show.shown ? [show.shown] : days;
  return several(rules.s, known, on, own, by === "day shown" ? null : days[0]);
}

// What all days agree on, else "may if" with what each of them gives. `first` is the first day of
// the show where the text leaves open whether that one decides.
function several(table, known, on, own, first) {
  const found = new Map([...(first ? [first] : []), ...own].map((day) => [day, on(day)]));
  const all = [...found.values()];
  const kinds = new Set(all.map(({ verdict, readings }) => JSON.stringify([verdict, readings])));
  if (kinds.size === 1) return all[0];
  const [clause, edition, read] = known.f.ages;
  /** @type {(says: string, ruling: any, days?: import("./says.js").Saying) => string} */
  const follows = (says, { verdict, why }, days = "") =>
    sentence(table, { says, days, verdict, why: `${why.charAt(0).toLowerCase()}${why.slice(1)}` });
  const dates = (from, to) => (from === to ? sayDay(from) : { says: "from-to", first: sayDay(from), last: sayDay(to) });
  return {
    ...all[0],
    verdict: "may if",
    age: "",
    why: `${table[first ? "depends-on-first" : "depends-on-day"]}.`,
    readings: [
      ...(first ? [follows("if-first", found.get(first))] : []),
      ...spans(found, own).map(([from, to, one]) => follows(first ? "if-own" : "if-shown", one, dates(from, to))),
    ],
    read: weakest(READS[read], ...all.map((one) => one.read)),
    clause,
    edition: known.e[edition],
    instead: null,
    from: null,
    to: null,
    opens: null,
  };
}

/** Days in a row of which the same is said: [[from, to, ruling], ...]. */
function spans(found, days) {
  const same = ({ verdict, why, readings, clause, edition, read, instead }) =>
    JSON.stringify([verdict, why, readings, clause, edition, read, instead]);
  const made = [];
  for (const day of days) {
    const last = made.at(-1);
    if (last && same(last[2]) === same(found.get(day))) last[1] = day;
    else made.push([day, day, found.get(day)]);
  }
  return made;
}

function daysOf({ first, last }) {
  const more = daysBetween(first, lastDay({ day: first, until: last }));
  return Array.from({ length: more + 1 }, (_, step) => addDays(first, step));
}

const weakest = (...reads) => TRUST[Math.min(...reads.map((read) => TRUST.indexOf(read)))];

/** How an entry stands: the names of the classes simply `open` on its day, the `ruling` of its own class
    with its `source` in words (null for a class that is not noted or not known), and what `opens` first
    where it is too young for any; null where nothing was looked up for this body. */
export function standing(enter, rules, { body, member, klass, first, last, shown }) {
  const key = rulesOf(rules, { body, member });
  const classes = enter ? classesOf(enter, rules, key) : [];
  if (!classes.length || !first) return null;
  const all = rulings(enter, rules, key, shown ?? first);
  const open = all.filter((one) => one.verdict === "may").map((one) => one.name);
  const opens = all.every((one) => one.age === "young") ? opening(firstClass(enter, rules, key)) : null;
  if (!classes.includes(klass)) return { open, opens, ruling: null };
  const own = rulingAt(enter, rules, key, klass, { first, last, shown });
  return { open, opens, ruling: { ...own, source: `${sourceOf(rules, own).words} ${knownOf(rules, key).g}` } };
}

const opening = (first) => first && { name: first.name, from: first.from };

// --- what bars any dog

/** What the body asks of this dog in this class at this show, as far as it bars: [{question, verdict, why,
    asks, source}]. The same as `bars_for` of ringside/domain/eligibility, where it is explained.
    @param {any[]} table
    @param {any} dog
    @param {{ klass?: string | null, kind?: string | null, day?: string | null }} entry */
export function barsFor(table, { sex, neutered }, { klass, kind, day }) {
  return table
    .filter((bar) => !(bar.sex && sex && bar.sex !== sex))
    .filter((bar) => bar.question !== "neutered" || neutered == null)
    .filter((bar) => !(day && bar.from > day))
    .map((bar) => stands(bar, klass, kind))
    .filter((bar) => bar !== null);
}

function stands({ question, verdict, why, asks = null, source, kinds, exempt = [] }, klass, kind) {
  if (kinds && kind && !kinds.includes(kind)) return null;
  const free = exempt.find((one) => one.classes.includes(klass));
  if (free && !free.asks) return null;
  const isIf = free || verdict === "may if" || (kinds && !kind);
  return { question, why, source, verdict: isIf ? "may if" : verdict, asks: isIf ? (free?.asks ?? asks) : null };
}
