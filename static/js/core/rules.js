// Looking things up in a pack by date: the windows were computed by ringside/domain/eligibility.py,
// and a show of several days is read as that module reads it (tests/browser/test_rules.py).

const VERDICTS = { y: "may", n: "may not", i: "may if" };
const READS = { c: "copy", s: "secondary", m: "memory" };
const TRUST = ["memory", "secondary", "copy"];
const DAY = 86_400_000;
const MONTHS = [
  "January",
  "February",
  "March",
  "April",
  "May",
  "June",
  "July",
  "August",
  "September",
  "October",
  "November",
  "December",
];

/** The rulings of one body on one day: [{klass, name, verdict, why, ...}], in the body's order. */
export function rulings(enter, rules, body, day) {
  const own = enter?.w[body];
  if (!own || day < enter.born) return [];
  return Object.keys(own).map((klass) => ruling(enter, rules, body, klass, day));
}

/** The ruling of one class on one day. `from` and `to` bound the days around it on which the verdict
    is the same, `opens` is the first day after a "may not" (each null where there is none). */
export function ruling(enter, rules, body, klass, day) {
  const known = rules.b[body];
  const about = { klass, name: known.c[klass].n, note: known.c[klass].u ?? "", decides: decides(rules, body, klass) };
  if (day < enter.born) return { ...about, ...unborn(known, klass), from: null, to: null, opens: enter.born };
  const rows = enter.w[body][klass];
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

/** All that is ever said of one class: [{from, to, ...ruling}]; the last has no end. */
export function windows(enter, rules, body, klass) {
  const rows = enter.w[body][klass];
  return rows.map((row, place) => ({
    klass,
    ...said(enter, rules.b[body], klass, row),
    from: row[0],
    to: rows[place + 1] ? addDays(rows[place + 1][0], -1) : null,
  }));
}

function said(enter, known, klass, [, code, sentence, fact = "", readings = []]) {
  const [clause, edition, read] = factOf(known, klass, fact);
  return {
    verdict: VERDICTS[code[0]],
    read: READS[code[1]] ?? READS[read],
    why: whole(enter.s, sentence),
    readings: readings.map((one) => enter.s[one]),
    clause,
    edition: known.e[edition],
    instead: known.c[klass].q?.[fact]?.i ?? null,
  };
}

function unborn(known, klass) {
  const [clause, edition, read] = known.c[klass].f;
  return {
    verdict: "may not",
    read: READS[read],
    why: "Not born yet on that day.",
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

// --- a show of several days

const decides = (rules, body, klass) => rules.b[body].c[klass].d ?? rules.b[body].d;

/** The ruling of one class at a show `{first, last, shown}`: the days of the show, and the day on
    which this dog is in the ring (the last two may be missing). `day` is the day it speaks of. */
export function rulingAt(enter, rules, body, klass, show) {
  const on = (day) => ({ ...ruling(enter, rules, body, klass, day), day });
  const known = rules.b[body];
  const days = daysOf(show);
  const by = decides(rules, body, klass);
  if (by === "closing date") {
    const why = "The age on the closing date of entries decides, and that date is not known.";
    return { ...on(days[0]), verdict: "may if", why, readings: [] };
  }
  if (by === "first day" || days.length === 1) {
    const first = on(days[0]);
    if (days.every((day) => on(day).verdict === first.verdict)) return first;
    return { ...first, read: weakest(first.read, READS[known.c[klass].r ?? known.f.ages[2]]) };
  }
  const own = show.shown ? [show.shown] : days;
  return several(known, on, own, by === "day shown" ? null : days[0]);
}

// What all days agree on, else "may if" with what each of them gives. `first` is the first day of
// the show where the text leaves open whether that one decides.
function several(known, on, own, first) {
  const found = new Map([...(first ? [first] : []), ...own].map((day) => [day, on(day)]));
  const all = [...found.values()];
  const kinds = new Set(all.map(({ verdict, readings }) => JSON.stringify([verdict, readings])));
  if (kinds.size === 1) return all[0];
  const [clause, edition, read] = known.f.ages;
  return {
    ...all[0],
    verdict: "may if",
    why: first
      ? "Depends on whether the first day of the show or the dog's own day decides, which the text leaves open."
      : "Depends on the day on which it is shown.",
    readings: [
      ...(first ? [`If the first day of the show decides, ${says(found.get(first))}`] : []),
      ...spans(found, own).map(([from, to, one]) => {
        const opening = first ? "If its own day decides and it is shown on" : "Shown on";
        return `${opening} ${from === to ? sayDay(from) : `${sayDay(from)} to ${sayDay(to)}`}, ${says(one)}`;
      }),
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

const says = ({ verdict, why }) => `it ${verdict}: ${why.charAt(0).toLowerCase()}${why.slice(1)}`;

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
  const days = [first];
  while (last && days.at(-1) < last) days.push(addDays(days.at(-1), 1));
  return days;
}

const weakest = (...reads) => TRUST[Math.min(...reads.map((read) => TRUST.indexOf(read)))];

/** A day as a person says it: "4 March 2027". */
export function sayDay(day) {
  const [year, month, date] = day.split("-").map(Number);
  return `${date} ${MONTHS[month - 1]} ${year}`;
}

/** A day so many days on, YYYY-MM-DD. */
export const addDays = (day, count) =>
  new Date(Date.parse(`${day}T00:00:00Z`) + count * DAY).toISOString().slice(0, 10);

export const daysBetween = (from, to) =>
  Math.round((Date.parse(`${to}T00:00:00Z`) - Date.parse(`${from}T00:00:00Z`)) / DAY);

// --- measures

const KG = { kg: 1, lb: 0.45359237 };
const CM = { cm: 1, in: 2.54 };

/** A measure in the unit of a limit (kg and cm; the 1959 yard and pound). */
export function inUnit(value, from, to) {
  const scale = KG[from] ? KG : CM;
  return (value * scale[from]) / scale[to];
}

/** How a measure stands to a limit: by how much it is under or over, 0 within. */
export function beyond(limit, value) {
  const slack = 1e-6;
  if (limit.high != null && value > limit.high + slack) return value - limit.high;
  if (limit.low != null && value < limit.low - slack) return value - limit.low;
  return 0;
}
