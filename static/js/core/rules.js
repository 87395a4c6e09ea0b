// Looking things up in a pack by date: the windows were computed by ringside/domain/eligibility.py.

const VERDICTS = { y: "may", n: "may not", i: "may if" };
const READS = { c: "copy", s: "secondary", m: "memory" };

/** The rulings of one body on one day: [{klass, name, verdict, why, ...}], in the body's order. */
export function rulings(enter, rules, body, day) {
  const own = enter?.w[body];
  if (!own || day < enter.born) return [];
  return Object.keys(own).map((klass) => ruling(enter, rules, body, klass, day));
}

/** The ruling of one class on one day, with the day it changes (or null for good). */
export function ruling(enter, rules, body, klass, day) {
  const rows = enter.w[body][klass];
  const place = rows.findLastIndex(([from]) => from <= day);
  const [, code, sentence, fact = "", readings = []] = rows[Math.max(place, 0)];
  const known = rules.b[body];
  const [clause, edition, read] = factOf(known, klass, fact);
  return {
    klass,
    name: known.c[klass].n,
    verdict: VERDICTS[code[0]],
    read: READS[code[1]] ?? READS[read],
    why: whole(enter.s, sentence),
    readings: readings.map((one) => enter.s[one]),
    clause,
    edition: known.e[edition],
    instead: known.c[klass].q?.[fact]?.i ?? null,
    note: known.c[klass].u ?? "",
    decides: known.c[klass].d ?? known.d,
    until: rows[place + 1]?.[0] ?? null,
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
