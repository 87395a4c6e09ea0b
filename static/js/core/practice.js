// How ready a dog is at each station, and what to work on next; as ringside/domain/practice.py, which
// says why. Both are held to scipy by tests/vectors/practice.json.
//
// sums  {at (ms), n, y, strangerN, strangerY, last}: what the marks of one station come to, weighed as
//       of `at`; `last` are the newest few, [{grade, at, hands}, ...], the newest at the end

import { addDays, daysBetween } from "./days.js";

const DAY = 86_400_000;
const HALF_LIFE = 30 * DAY;
const GRADES = { easy: 1, "needs work": 0.5, "not yet": 0 };
const HANDS = { stranger: 1, known: 0.5, own: 0.25 };
const READY = 0.8;
const SELDOM = 0.4;
const FAINT = 0.01;
const SURE = 0.9;
const MOST = 3;
const STRICT = { disqualifying: 1.5, serious: 1.25 };
const NAMED = 1.5;
const LATELY = 56; // days
const KNOWN_FROM = 0.5;
const STRANGER_FROM = 0.75;
const MINUTES = [2, 3];
const LAST = 6;
const STEPS = 200;
const HALVINGS = 42;

export const NOTHING = { at: null, n: 0, y: 0, strangerN: 0, strangerY: 0, last: [] };

const decay = (ms) => 2 ** (-ms / HALF_LIFE);

/** Whether a mark tells anything: a half one does not, nor one of a day that is still to come. */
export const isMark = ({ grade, at }, now) => Object.hasOwn(GRADES, grade ?? "") && Date.parse(at) <= now + DAY;

/** After so many ms a mark weighs less than a millionth. */
export const FORGOTTEN = 20 * HALF_LIFE;

/** The sums as of another moment (ms): one decay, however many marks. */
function on(sums, at) {
  const by = sums.n === 0 ? 0 : decay(at - sums.at);
  const { n, y, strangerN, strangerY } = sums;
  return { ...sums, at, n: by * n, y: by * y, strangerN: by * strangerN, strangerY: by * strangerY };
}

/** The sums with one mark more, {grade, at (an instant), hands}, of whichever day. */
export function addMark(sums, { grade, at, hands = "own" }) {
  const moment = Date.parse(at);
  const here = on(sums, Math.max(sums.at ?? moment, moment));
  const weight = decay(here.at - moment);
  const told = weight * (HANDS[hands] ?? HANDS.own);
  const last = [...sums.last, { grade, at, hands }].sort((one, other) => (one.at < other.at ? -1 : 1)).slice(-LAST);
  return {
    at: here.at,
    n: here.n + weight,
    y: here.y + weight * GRADES[grade],
    strangerN: here.strangerN + told,
    strangerY: here.strangerY + told * GRADES[grade],
    last,
  };
}

/** {mean, low, high, marks, lacking} of a station at the moment `now` (ms), or for a stranger's hands. */
export function readiness(sums, now, isForStranger = false) {
  const here = on(sums, Math.max(now, sums.at ?? now));
  const [n, y] = isForStranger ? [here.strangerN, here.strangerY] : [here.n, here.y];
  const [a, b] = [1 + y, 1 + Math.max(n - y, 0)];
  const tail = (1 - SURE) / 2;
  return {
    mean: a / (a + b),
    low: betaQuantile(tail, a, b),
    high: betaQuantile(1 - tail, a, b),
    marks: n,
    lacking: betaShare(READY, a, b),
  };
}

const scaleOf = (a, b) => logGamma(a + b) - logGamma(a) - logGamma(b);

/** The chance that Beta(a, b) is below x, for a and b from 1. */
export function betaShare(x, a, b, scale = scaleOf(a, b)) {
  if (x <= 0 || x >= 1) return x >= 1 ? 1 : 0;
  if (x > (a + 1) / (a + b + 2)) return 1 - betaShare(1 - x, b, a, scale);
  const front = scale + a * Math.log(x) + b * Math.log1p(-x);
  return Math.exp(front) / (a * fraction(x, a, b));
}

function fraction(x, a, b) {
  let value = 1;
  let numerator = 1;
  let denominator = 0;
  for (let step = 1; step < STEPS; step += 1) {
    const m = Math.floor(step / 2);
    const d =
      step % 2
        ? (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1))
        : (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    denominator = 1 / (1 + d * denominator);
    numerator = 1 + d / numerator;
    value *= numerator * denominator;
    if (Math.abs(numerator * denominator - 1) < 1e-15) break;
  }
  return value;
}

/** The value that Beta(a, b) stays below with the chance `share`. */
export function betaQuantile(share, a, b) {
  const scale = scaleOf(a, b);
  let [low, high] = [0, 1];
  for (let step = 0; step < HALVINGS; step += 1) {
    const middle = (low + high) / 2;
    if (betaShare(middle, a, b, scale) < share) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

// Stirling's series, moved up to where it is exact to the last digits; Python has it built in.
function logGamma(x) {
  let [at, below] = [x, 1];
  while (at < 12) {
    below *= at;
    at += 1;
  }
  const inverse = 1 / (at * at);
  const series = (1 / 12 - inverse * (1 / 360 - inverse * (1 / 1260 - inverse * (1 / 1680 - inverse / 1188)))) / at;
  return (at - 0.5) * Math.log(at) - at + Math.log(2 * Math.PI) / 2 + series - Math.log(below);
}

/** The stations that results of the last weeks name as a fault, or to practise; of lessons (values). */
export const namedLately = (lessons, today) =>
  new Set(
    lessons
      .filter(({ says, day }) => ["named", "practise"].includes(says) && day && day <= today)
      .filter(({ day }) => daysBetween(day, today) <= LATELY)
      .map(({ station }) => station),
  );

/** The first day that is late enough for `namedLately`. */
export const firstLate = (today) => addDays(today, -LATELY);

/** How much a station counts, by the weights of what the standard asks there. */
export const strictness = (asks) => Math.max(1, ...asks.map(({ weight }) => STRICT[weight] ?? 1));

/** Whether a station is easy often enough. */
const isReady = ({ mean }) => mean >= READY;

/** How a station stands: "ready", "work", "notyet", or "none" where nothing was marked, or long ago. */
export function stateOf(ready) {
  if (ready.marks < FAINT) return "none";
  if (isReady(ready)) return "ready";
  return ready.mean < SELDOM ? "notyet" : "work";
}

/** "easy 6 in 10 (4 to 8)": how often, and where the truth lies nine times out of ten. */
export function readyWords(ready) {
  if (stateOf(ready) === "none") return "no marks yet";
  const [mean, low, high] = [ready.mean, ready.low, ready.high].map((share) => Math.floor(share * 10 + 0.5));
  return `easy ${mean} in 10 (${low} to ${high})`;
}

/** The next session, of `places` [{id, counts, sums, phase, named}]: {work, end, hands}; `end` is null
    where no station is easy yet. */
export function nextSession(places, now) {
  const found = places.map((place) => ({ ...place, ready: readiness(place.sums, now) }));
  const need = ({ ready, counts, named }) => Math.round(ready.lacking * counts * (named ? NAMED : 1) * 1e9);
  const since = ({ sums }) => sums.at ?? Number.NEGATIVE_INFINITY;
  const needed = found.sort(
    (one, other) => need(other) - need(one) || (since(one) < since(other) ? -1 : since(one) > since(other) ? 1 : 0),
  );
  const easy = needed.filter(({ sums, ready }) => sums.n > 0 && isReady(ready));
  const there = needed.slice(0, MOST - 1).at(-1)?.phase;
  const away = ({ phase, ready }) => Number(phase !== there) + ready.lacking;
  const last = easy.reduce((best, one) => (best && away(best) <= away(one) ? best : one), null);
  const work = needed.filter((one) => one !== last).slice(0, last ? MOST - 1 : MOST);
  const means = work.filter(({ sums }) => sums.n > 0).map(({ ready }) => ready.mean);
  return {
    work: work.map(({ id }) => id),
    end: last?.id ?? null,
    hands: handsFor(means.length ? Math.min(...means) : 0),
    minutes: MINUTES,
  };
}

function handsFor(mean) {
  if (mean >= STRANGER_FROM) return "stranger";
  return mean >= KNOWN_FROM ? "known" : "own";
}
