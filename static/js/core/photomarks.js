// Marks on a photo: where one is expected, in which order they are set, how they are written down and read.
// A place is [x, y] in parts of the upright picture from its upper left.

import { held } from "./held.js";

const TEMPLATE = 4 / 3; // width over height of the picture that the templates are parts of
const DIGITS = 5;
const MEANS = ["eye", "sticker", "seam"];
export const LINE = "topline";

/** The build that a view's templates know, for a dog drawn of `parts` (figure.js). */
export function buildOf(parts, view) {
  if (view === "head-side") return parts?.short_faced ? "short" : parts?.body === "light" ? "long" : "medium";
  if (parts?.legs === "short") return "short-legged";
  return ["rectangular", "long"].includes(parts?.body) ? "long" : "square";
}

/** Where the template has a mark in a photo with these values; null for one that it does not place. */
export function templateOf(atlas, { view, facing }, parts, id) {
  const known = held(held(atlas.marks, id)?.at, view);
  const place = held(known, buildOf(parts, view)) ?? held(known, "any") ?? Object.values(known ?? {})[0];
  if (!place) return null;
  const isFlipped = facing === "right" && ["side", "head-side"].includes(view);
  return isFlipped ? [1 - place[0], place[1]] : place;
}

/** Where a mark is expected: its template, brought to where the marks set so far say that the dog stands. */
export function expected(atlas, photo, parts, id, marks) {
  const at = templateOf(atlas, photo, parts, id) ?? [0.5, 0.5];
  const pairs = Object.entries(marks)
    .map(([other, mark]) => [templateOf(atlas, photo, parts, other), mark])
    .filter(([from, mark]) => from && mark);
  const wide = photo.width > 0 && photo.height > 0 ? photo.width / photo.height : TEMPLATE;
  return within(pairs.length ? fitted(pairs, at, wide) : at);
}

const within = (place) => place.map((part) => Math.min(Math.max(part, 0), 1));

/** `at` moved as the template has to be moved, turned and sized to lie nearest to the marks of `pairs`. */
function fitted(pairs, at, wide) {
  const known = pairs.map(([[x, y], mark]) => ({ t: [x * TEMPLATE, y], p: [mark[0] * wide, mark[1]] }));
  const mean = (name, axis) => known.reduce((sum, one) => sum + one[name][axis], 0) / known.length;
  const [t, p] = ["t", "p"].map((name) => [mean(name, 0), mean(name, 1)]);
  let [real, turned, size] = [0, 0, 0];
  for (const one of known) {
    const [a, b] = [one.t[0] - t[0], one.t[1] - t[1]];
    const [c, d] = [one.p[0] - p[0], one.p[1] - p[1]];
    real += a * c + b * d;
    turned += a * d - b * c;
    size += a * a + b * b;
  }
  // One mark, or several in one place, tell where the dog is and not how large.
  const [u, v] = known.length > 1 && size > 1e-6 ? [real / size, turned / size] : [wide / TEMPLATE, 0];
  const [x, y] = [at[0] * TEMPLATE - t[0], at[1] - t[1]];
  return [(p[0] + u * x - v * y) / wide, p[1] + v * x + u * y];
}

/** The marks of a view in their order: the first ones, or all. The line of the back needs both its ends. */
export function stepsOf(atlas, view, { more, marks }) {
  const known = held(atlas.views, view);
  const ids = (known?.marks ?? []).filter((id) => held(atlas.marks, id));
  const wanted = more ? ids : ids.slice(0, known?.first ?? ids.length);
  return wanted.filter((id) => id !== LINE || (marks.withers && marks["tail-set"]));
}

/** Marks as they are written down. */
export const written = (marks) =>
  JSON.stringify(Object.fromEntries(Object.entries(marks).map(([id, mark]) => [id, mark?.map(rounded) ?? null])));

function rounded(part) {
  if (Array.isArray(part)) return part.map(rounded);
  return typeof part === "number" ? Number(part.toFixed(DIGITS)) : part;
}

/** What was written down, without what is no mark: a phone of another day may have written it. */
export function readMarks(text) {
  let told = null;
  try {
    told = JSON.parse(text);
  } catch {
    // Cut off, or never marks.
  }
  if (told === null || typeof told !== "object" || Array.isArray(told)) return {};
  return Object.fromEntries(Object.entries(told).filter(([id, mark]) => isMark(id, mark)));
}

const isPart = (part) => typeof part === "number" && part >= -0.5 && part <= 1.5;
const isPlace = (mark) => Array.isArray(mark) && isPart(mark[0]) && isPart(mark[1]) && MEANS.includes(mark[2]);
const isMark = (id, mark) =>
  mark === null || (id === LINE ? Array.isArray(mark) && mark.length > 2 && mark.every(isPlace) : isPlace(mark));

/** The markings of one photo by one person, a round each, in order: of a round that was gone on with, the newest. */
export function roundsOf(markings, by) {
  const rounds = new Map();
  for (const row of markings) if (row.values.by === by) rounds.set(row.values.round ?? 1, row);
  return [...rounds].sort(([one], [other]) => one - other).map(([, row]) => row);
}
