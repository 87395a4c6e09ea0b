// When a dog goes into the ring, and whether two turns collide; as ringside/domain/ringclock.py, which
// says why. Both are held to the same answers by tests/vectors/ringclock.json. Moments are minutes.
//
// tap    {what, at, dogs, until}: what somebody saw at a ring; of one dog, if it does not say how many, and
//        else at whatever times
// stand  {ahead: [dogs of each class], before, floors: [[number of a dog, time], ...]}
// lunch  [from, to], or null

import { betaQuantile } from "./practice.js";

const RINGS_APART = 0.28;
const DOGS_APART = 0.36;
const DOGS_APART_UNLISTED = 0.6;
const ITS_WEIGHT = 10;
const CLOSING = 1.5;
const ITS_CLOSINGS = 2;
const MOST_CLOSING = 5;
const CLASS = 4;
const ABSENT = 0.08;
const ITS_ENTRIES = 20;
const FADES = 0.97;
const STRANGEST = 6;
const LONGEST = 12;
const MOST_STEPS = 6;
const EXACT_BELOW = 3;
const POINTS = Array.from({ length: 80 }, (_, at) => (at + 0.5) / 80);

/** Minutes of a lunch where nobody said how long. */
export const LUNCH = 45;
/** The range that is shown: four in five. */
export const [LOW, MIDDLE, HIGH] = [0.1, 0.5, 0.9];

const sum = (numbers) => numbers.reduce((all, one) => all + one, 0);
const within = (least, value, most) => Math.min(Math.max(value, least), most);

/** After how many dogs a class ends, for each that is not empty. */
export const endsOf = ({ ahead }) => ahead.flatMap((dogs, at) => (dogs ? [sum(ahead.slice(0, at + 1))] : []));

/** How many dogs go in before this one. */
export const dogsBefore = ({ ahead, before }) => sum(ahead) + before;

/** What taps come to `now`: {dogs, absent, mark, spans: [[minutes, classes closed], ...], last, rest, out,
    back, floor, hasBegun, lunch}.
    @param {number[] | null} [lunch] is the one that is planned */
export function replay(taps, ends, now, lunch) {
  /** @type {any} */
  const seen = {
    dogs: 0,
    absent: 0,
    mark: 0,
    spans: [],
    last: null,
    rest: 0,
    out: null,
    back: null,
    floor: null,
    hasBegun: false,
    lunch: lunch ?? null,
  };
  for (const tap of [...taps].sort((one, other) => one.at - other.at)) take(seen, tap, ends);
  settle(seen, now);
  return seen;
}

function take(seen, { what, at, dogs = null, until = null }, ends) {
  seen.hasBegun ||= what !== "posted";
  if (what === "judged") judged(seen, at, dogs, ends);
  else if (what === "absent") Object.assign(seen, { dogs: seen.dogs + (dogs ?? 1), absent: seen.absent + (dogs ?? 1) });
  else if (what === "paused" || what === "lunch") rests(seen, what, at);
  else if (what === "goes on") goesOn(seen, at);
  else if (what === "begun") Object.assign(seen, { last: at, rest: 0, out: null, floor: null });
  else if (what === "posted") seen.floor = until;
}

const closedIn = (seen, ends) => ends.filter((end) => seen.mark <= end && end <= seen.dogs).length;

function judged(seen, at, dogs, ends) {
  settle(seen, at);
  if (seen.last !== null && seen.out === null && dogs === null) {
    seen.spans.push([Math.max(at - seen.last - seen.rest, 0), closedIn(seen, ends)]);
  }
  seen.dogs += dogs ?? 1;
  Object.assign(seen, { mark: seen.dogs, last: at, rest: 0, out: null, floor: null });
}

function rests(seen, what, at) {
  seen.out ??= at;
  seen.back = null;
  if (what === "lunch") {
    seen.back = at + (seen.lunch ? seen.lunch[1] - seen.lunch[0] : LUNCH);
    seen.lunch = null;
  }
}

function goesOn(seen, at) {
  if (seen.out !== null) Object.assign(seen, { rest: seen.rest + at - seen.out, out: null, floor: null });
}

// A rest that has ended, as was said of it, is over.
function settle(seen, now) {
  if (seen.out !== null && seen.back !== null && seen.back <= now) goesOn(seen, seen.back);
  if (!seen.lunch || seen.last === null || seen.out !== null) return;
  const [begins, ends] = seen.lunch;
  if (seen.last <= begins && ends <= now) Object.assign(seen, { rest: seen.rest + ends - begins, lunch: null });
}

/** How a judge works, {unit (minutes), spread, closing, worth}: it begins as `minutes` a dog, and `spans`
    teach it. */
export function learned(minutes, spans, isListed) {
  const first = isListed ? (minutes * CLASS) / (CLASS + CLOSING) : minutes;
  const apart = isListed ? DOGS_APART : DOGS_APART_UNLISTED;
  const timed = spans.map(([d, c], at) => ({ d, c, w: FADES ** (spans.length - 1 - at) }));
  const weight = sum(timed.map(({ w }) => w));
  const pace = { unit: first, spread: apart, closing: isListed ? CLOSING : 0, worth: apart / RINGS_APART ** 2 };
  for (let pass = 0; pass < 2; pass += 1) {
    const strange = timed.map(({ d, c, w }) => w * strangeness(d / pace.unit, 1 + pace.closing * c));
    pace.spread = (ITS_WEIGHT * apart + sum(strange)) / (ITS_WEIGHT + weight);
    const before = pace.spread / RINGS_APART ** 2;
    pace.worth = before + sum(timed.map(({ c, w }) => w * (1 + pace.closing * c)));
    pace.unit = (before * first + sum(timed.map(({ d, w }) => w * d))) / pace.worth;
    if (isListed) pace.closing = closingOf(pace.unit, timed);
  }
  return pace;
}

const strangeness = (units, wanted) => Math.min((units - wanted) ** 2 / wanted, STRANGEST);

function closingOf(unit, timed) {
  const took = sum(timed.map(({ d, c, w }) => (c ? w * (Math.min(d / unit, LONGEST) - 1) : 0)));
  const count = sum(timed.map(({ c, w }) => w * c));
  return within(0, (ITS_CLOSINGS * CLOSING + took) / (ITS_CLOSINGS + count), MOST_CLOSING);
}

/** The quantile of Fisher's F with (2k, 2a) degrees of freedom, within 0.5 %. */
export function fQuantile(share, k, a) {
  if (k < EXACT_BELOW) {
    const x = betaQuantile(share, k, a);
    return (a * x) / (k * (1 - x));
  }
  const z = normalQuantile(share);
  const [s, t] = [1 / (9 * k), 1 / (9 * a)];
  const root = Math.sqrt((1 - s) ** 2 * t + (1 - t) ** 2 * s - z * z * s * t);
  return (((1 - s) * (1 - t) + z * root) / ((1 - t) ** 2 - z * z * t)) ** 3;
}

// Acklam's rational approximation (2003, from memory), good to nine places.
function normalQuantile(share) {
  const tail = Math.min(share, 1 - share);
  if (tail < 0.02425) return Math.sign(share - 0.5) * -farTail(tail);
  const q = share - 0.5;
  const r = q * q;
  const above = polynomial(
    r,
    [
      -39.69683028665376, 220.9460984245205, -275.9285104469687, 138.357751867269, -30.66479806614716,
      2.506628277459239,
    ],
  );
  const below = polynomial(
    r,
    [-54.47609879822406, 161.5858368580409, -155.6989798598866, 66.80131188771972, -13.28068155288572, 1],
  );
  return (q * above) / below;
}

function farTail(tail) {
  const q = Math.sqrt(-2 * Math.log(tail));
  const above = polynomial(
    q,
    [
      -0.007784894002430293, -0.3223964580411365, -2.400758277161838, -2.549732539343734, 4.374664141464968,
      2.938163982698783,
    ],
  );
  const below = polynomial(q, [0.007784695709041462, 0.3224671290700398, 2.445134137142996, 3.754408661907416, 1]);
  return above / below;
}

const polynomial = (x, factors) => factors.reduce((all, factor) => all * x + factor, 0);

const quantileOf = ({ mean, k, a }, share) => (mean > 0 ? ((mean * (a - 1)) / a) * fQuantile(share, k, a) : 0);

const absentShare = (seen) => (ITS_ENTRIES * ABSENT + seen.absent) / (ITS_ENTRIES + seen.dogs);

function workOf(entries, closings, seen, pace, done = 0) {
  const absent = absentShare(seen);
  const units = entries * (1 - absent) + pace.closing * closings - done;
  if (units <= 0) return { mean: 0, k: 1, a: 2 };
  const variance = units * pace.spread + entries * (1 - absent) * absent;
  return { mean: units * pace.unit, k: Math.max(units ** 2 / variance, 1), a: 2 + pace.worth / pace.spread };
}

/** How much of `units` is done that have taken `minutes` and are not finished. */
export function shareDone(minutes, units, pace) {
  const steps = Math.min(Math.max(evenly(units / pace.spread), 1), evenly(MOST_STEPS * Math.max(units, 1)));
  const x = minutes / (pace.unit * pace.spread);
  const terms = [1];
  for (let j = 1; j < steps; j += 1) terms.push((terms[j - 1] * x) / j);
  return sum(terms.map((term, j) => j * term)) / (steps * sum(terms));
}

// Ties to even, as Python rounds.
const evenly = (number) => (number % 1 === 0.5 ? 2 * Math.round(number / 2) : Math.round(number));

/** When the dog of `stand` goes in, {now, starts, rests, left, closings, pace}, for quantileAt. `pace` is
    minutes a dog, `begins` when judging is said to begin; `left` below 0 says that it has been in.
    @param {number | null} [begins] */
export function turn(stand, seen, pace, now, begins = null) {
  const known = learned(pace, seen.spans, stand.ahead.some(Boolean));
  const dogs = dogsBefore(stand);
  const left = dogs - seen.dogs;
  const ends = endsOf(stand);
  const closings = ends.filter((end) => end >= seen.mark).length;
  const start = seen.hasBegun || begins === null ? now : Math.max(now, begins);
  const { done, pace: taught } = begun(ends, seen, known, now, left);
  const whole = workOf(Math.max(left, 0), closings, seen, taught, done);
  const starts = [{ at: start, work: whole }];
  if (seen.floor !== null) starts.push({ at: Math.max(now, seen.floor), work: whole });
  for (const [place, time] of stand.floors) {
    if (place < seen.dogs || time <= now) continue;
    const after = ends.filter((end) => end > place).length;
    starts.push({ at: time, work: workOf(dogs - place, after, seen, taught) });
  }
  return { now, starts, rests: restOf(seen, now), left, closings, pace: taught };
}

/** What is done of the dog in the ring, in units, and the pace with that taken into account. */
function begun(ends, seen, pace, now, left) {
  if (seen.last === null || left < 0) return { done: 0, pace };
  const minutes = Math.max((seen.out ?? now) - seen.last - seen.rest, 0);
  const units = Math.min(left, 1) * (1 - absentShare(seen)) + pace.closing * closedIn(seen, ends);
  if (units <= 0) return { done: 0, pace };
  const done = units * shareDone(minutes, units, pace);
  const worth = pace.worth + done;
  return { done, pace: { ...pace, unit: (pace.unit * pace.worth + minutes) / worth, worth } };
}

function restOf({ out, back, lunch, last }, now) {
  if (out !== null) return back === null ? null : [out, Math.max(back, now)];
  if (!lunch || now >= lunch[1]) return null;
  const late = Math.max((last ?? lunch[0]) - lunch[0], 0);
  return [lunch[0] + late, lunch[1] + late];
}

/** The moment by which a turn has come with the chance `share`. */
export const quantileAt = ({ starts, rests }, share) =>
  Math.max(...starts.map(({ at, work }) => through(at, quantileOf(work, share), rests)));

function through(start, minutes, rests) {
  if (!rests || start >= rests[1]) return start + minutes;
  const begins = Math.max(rests[0], start);
  return start + minutes + (start + minutes > begins ? rests[1] - begins : 0);
}

/** The chance that two turns in two rings collide, whose dogs are so long `inRing`, [one, other], and
    `way` minutes apart. */
export function collide(one, other, inRing, way) {
  const [first, second] = [one, other].map((each) => POINTS.map((point) => quantileAt(each, point)));
  const meet = (t1, t2) => t1 < t2 + inRing[1] + way && t2 < t1 + inRing[0] + way;
  return sum(first.map((t1) => second.filter((t2) => meet(t1, t2)).length)) / POINTS.length ** 2;
}

/** The chance that, in one ring, the second turn comes before the handler is back from the first. */
export function follow(first, second, seen, pace, inRing, way) {
  const place = Math.max(dogsBefore(first), seen.dogs);
  const closings = endsOf(second).filter((end) => end > place).length;
  const known = learned(pace, seen.spans, second.ahead.some(Boolean));
  const work = workOf(Math.max(dogsBefore(second) - place, 0), closings, seen, known);
  return POINTS.filter((point) => quantileOf(work, point) < inRing + way).length / POINTS.length;
}
