// What a dog will weigh on the day of a show, or why that cannot be said; the same as
// ringside/domain/condition.py, which tells the method and its source. tests/vectors/condition.json holds
// the two together. Weighings are values of records, in any order; all sums are in kilograms and days.

import { addDays, daysBetween, sayDay } from "./days.js";
import { beyond, inUnit, tidy, UNITS } from "./limits.js";

const WINDOW = 42; // days
const DAMPING = 28; // days
const WIDER = 1.25;
const SHARE = 0.8;
const FEWEST = 4;
const LEAST_SPAN = 21; // days
const FARTHEST = 21; // days
const LARGEST_JUMP = 5; // %
const WIDEST = 5; // %
const TOLD = 1; // % of the weight a week
const WARNED = 2;
const GROWN = 365; // days
const IDEAL = [4, 5];

/** The least squares line through points, [day, weight]; three points, two days at least. */
export function fit(points) {
  const count = points.length;
  const sum = (of) => points.reduce((all, point) => all + of(point), 0);
  const meanDay = sum(([day]) => day) / count;
  const mean = sum(([, weight]) => weight) / count;
  const spread = sum(([day]) => (day - meanDay) ** 2);
  const slope = sum(([day, weight]) => (day - meanDay) * (weight - mean)) / spread;
  const off = sum(([day, weight]) => (weight - mean - slope * (day - meanDay)) ** 2);
  return { count, meanDay, mean, slope, spread, error: Math.sqrt(off / (count - 2)) };
}

/** The line's value on a day. */
export const at = ({ mean, slope, meanDay }, day) => mean + slope * (day - meanDay);

/** The t that `share` of Student's distribution lies within, on both sides of 0. */
export function tOf(share, freedom) {
  let low = 0;
  let high = Math.PI / 2;
  for (let turn = 0; turn < 60; turn += 1) {
    const middle = (low + high) / 2;
    if (within(middle, freedom) < share) low = middle;
    else high = middle;
  }
  return Math.tan(low) * Math.sqrt(freedom);
}

function within(angle, freedom) {
  const odd = freedom % 2;
  const square = Math.cos(angle) ** 2;
  let term = odd ? Math.cos(angle) : 1;
  let total = freedom > 1 ? term : 0;
  for (let step = odd ? 3 : 2; step < freedom - 1; step += 2) {
    term *= square * ((step - 1) / step);
    total += term;
  }
  return odd ? (2 / Math.PI) * (angle + Math.sin(angle) * total) : Math.sin(angle) * total;
}

/** By how much one more value on `day` may lie off the line, on either side. */
export function halfWidth(line, day, share = SHARE) {
  const away = (day - line.meanDay) ** 2 / line.spread;
  return tOf(share, line.count - 2) * line.error * Math.sqrt(1 + 1 / line.count + away);
}

/** For how many days' worth of change to reckon. */
export const damped = (days) => DAMPING * (1 - Math.exp(-days / DAMPING));

// --- of one dog

/** {forecast, why, flags, limits, target}; `show` is its day, `state` what was said last of the dog, `limits`
    those of the show's body.
    @param {any[]} weighings
    @param {{show: string | null, born?: string | null, state?: string | null, score?: number | null,
      limits?: any[]}} about */
export function outlook(weighings, { show, born, state, score, limits = [] }) {
  const series = seriesOf(weighings);
  const recent = series.filter(({ day }) => daysBetween(day, series[series.length - 1].day) <= WINDOW);
  let why = changesByItself(recent, born, state) ?? tooLittle(recent);
  const line = why ? null : fit(recent.map(({ day, kg }) => [daysBetween(recent[0].day, day), kg]));
  const flags = flagsOf(line, recent, score);
  why ??= jump(recent) ?? dayOf(recent, show);
  let forecast = line && show && !why ? forecastOf(line, recent, show) : null;
  if (forecast && forecast.half > (forecast.kg * WIDEST) / 100) {
    forecast = null;
    why = { says: "too-wide" };
  }
  const weights = limits.filter(({ what }) => what === "weight");
  return {
    forecast,
    why,
    flags,
    limits: forecast ? weights.map((limit) => stands(limit, forecast)) : [],
    target: targetOf(recent, forecast, score, weights),
  };
}

/** The whole weighings, {day, kg}, the oldest first. */
export const seriesOf = (weighings) =>
  weighings
    .filter(({ what, value, unit, day }) => what === "weight" && value && day && UNITS.weight.includes(unit))
    .map(({ day, value, unit }) => ({ day, kg: inUnit(value, unit, "kg") }))
    .sort((one, other) => (one.day === other.day ? one.kg - other.kg : one.day < other.day ? -1 : 1));

const spanOf = (recent) => daysBetween(recent[0].day, lastOf(recent).day);
const lastOf = (recent) => recent[recent.length - 1];

function changesByItself(recent, born, state) {
  if (state && state !== "well") return { says: state.replace(" ", "-") };
  if (recent.length && born && daysBetween(born, lastOf(recent).day) < GROWN) return { says: "under-a-year" };
  return null;
}

function tooLittle(recent) {
  if (!recent.length) return { says: "no-weight" };
  const more = FEWEST - recent.length;
  if (more > 0) return more === 1 ? { says: "too-few-by-one" } : { says: "too-few", more };
  const span = spanOf(recent);
  return span < LEAST_SPAN ? { says: "too-short", days: span } : null;
}

function jump(recent) {
  for (const [place, { day, kg }] of recent.entries()) {
    const before = recent[place - 1]?.kg ?? kg;
    const percent = (Math.abs(kg - before) / before) * 100;
    if (percent > LARGEST_JUMP) return { says: "jump", percent: tidy(percent), day: sayDay(day) };
  }
  return null;
}

function dayOf(recent, show) {
  if (!show) return { says: "no-show" };
  const ahead = daysBetween(lastOf(recent).day, show);
  if (ahead < 0) return { says: "show-over" };
  const span = spanOf(recent);
  if (ahead > FARTHEST) return { says: "too-far", days: ahead, most: FARTHEST };
  return ahead > span / 2 ? { says: "too-far-for-span", days: ahead, span } : null;
}

/** The range widens by the whole distance, though the slope is damped. */
function forecastOf(line, recent, show) {
  const days = daysBetween(lastOf(recent).day, show);
  const kg = at(line, spanOf(recent)) + line.slope * damped(days);
  return { kg, half: WIDER * halfWidth(line, daysBetween(recent[0].day, show)), days };
}

/** The middle and the ends of the forecast for each day up to the show, for drawing: [{day, low, kg, high}].
    The first is the last weighing's. */
export function fan(weighings, forecast, steps = 8) {
  const last = lastOf(seriesOf(weighings));
  return Array.from({ length: steps + 1 }, (_, step) => {
    const part = step / steps;
    const kg = last.kg + (forecast.kg - last.kg) * part;
    const half = forecast.half * part;
    return { day: addDays(last.day, Math.round(forecast.days * part)), low: kg - half, kg, high: kg + half };
  });
}

function flagsOf(line, recent, score) {
  const flags = [];
  const percent = line ? ((line.slope * 7) / at(line, spanOf(recent))) * 100 : 0;
  if (Math.abs(percent) > TOLD) {
    const fast = Math.abs(percent) > WARNED ? "-fast" : "";
    flags.push({ says: `${percent > 0 ? "gains" : "loses"}${fast}`, percent: tidy(Math.abs(percent)) });
  }
  if (score && (score < IDEAL[0] || score > IDEAL[1]))
    flags.push({ says: score < IDEAL[0] ? "score-thin" : "score-heavy", score });
  return flags;
}

function stands(limit, { kg, half }) {
  const [low, high] = [kg - half, kg + half].map((end) => beyond(limit, inUnit(end, "kg", limit.unit)));
  if (low === 0 && high === 0) return "within";
  if (low > 0) return "over";
  return high < 0 ? "under" : "open";
}

/** The limit that a dog is beyond; nothing is drawn that would starve or fatten it. */
function targetOf(recent, forecast, score, limits) {
  if (!forecast?.days) return null;
  const { kg } = lastOf(recent);
  const bound = passed(kg, limits);
  if (bound === null) return null;
  /** @param {string} says
      @param {number | null} percent */
  const none = (says, percent = null) => ({ kg: null, percent, words: { says } });
  if (score == null) return none("target-score-first");
  if (bound > kg ? score >= IDEAL[0] : score <= IDEAL[1]) return none("target-not-for-score");
  const percent = ((Math.abs(kg - bound) / kg) * 100) / (forecast.days / 7);
  if (percent > WARNED) return none("target-too-fast", percent);
  return { kg: bound, percent, words: { says: "target", percent: tidy(percent) } };
}

/** The farthest bound (kg) that a weight is beyond; null for none. */
function passed(kg, limits) {
  const bounds = limits.flatMap((limit) => {
    const off = beyond(limit, inUnit(kg, "kg", limit.unit));
    return off ? [inUnit(off > 0 ? limit.high : limit.low, limit.unit, "kg")] : [];
  });
  return bounds.sort((one, other) => Math.abs(kg - other) - Math.abs(kg - one))[0] ?? null;
}
