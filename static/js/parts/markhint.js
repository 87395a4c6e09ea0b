// Where a mark is on the dog, on the drawing of its view: a place that the drawing knows, or else that of the
// template, brought onto the drawing by what both know.

import { templateOf } from "../core/photomarks.js";
import { anchorsOf, drawn } from "../dom.js";
import { viewDrawing } from "./viewdrawing.js";

const first = (list) => list?.[0];
// What a drawing of a dog from its side knows of the marks.
const KNOWN = {
  nose: (at) => at.nose?.[1],
  stop: (at) => at.head?.[3],
  occiput: (at) => first(at.head),
  withers: (at) => at.withers,
  "tail-set": (at) => at.root,
  buttock: (at) => at.buttock,
  forechest: (at) => at.chest,
  elbow: (at) => at.elbow,
  brisket: (at) => at.brisket,
  croup: (at) => at.croup,
  stifle: (at) => at.stifle,
  hock: (at) => at.hock,
  carpus: (at) => at.knee,
  "tuck-up": (at) => at.flank,
  "fore-near": (at) => at.toe && [at.toe[0] - 9, GROUND],
};
const GROUND = 204;
// The drawings of the other views are always the same: [x, y] there of a place of the template.
const PLACED = {
  "head-front": ([x, y]) => [160 + 250 * (x - 0.5), 98 + 162 * (y - 0.46)],
  front: ([x, y]) => [160 + 350 * (x - 0.5), 105 + 206 * (y - 0.38)],
  above: ([x, y]) => [200 - 286 * (y - 0.3), 110 + 180 * (x - 0.5)],
};
// Of a drawing from the side the part where the dog is, which is small enough as it is.
const BOX = "6 0 252 214";
const SIDES = ["side", "head-side"];

/** Put the drawing into `place`, with a dot where the mark is. */
export async function markHint(place, { atlas, photo, parts, id }) {
  const drawing = viewDrawing(parts, photo.view);
  if (photo.view === "side") drawing.setAttribute("viewBox", BOX);
  drawing.classList.toggle("left", photo.facing !== "right" && SIDES.includes(photo.view));
  place.replaceChildren(drawing);
  const at = await spotOf(atlas, photo, parts, id).catch(() => null);
  if (!at) return;
  const size = photo.view === "head-side" ? 5 : 9;
  // After the lines of the drawing, which come when the pen is there.
  requestAnimationFrame(() => drawing.append(drawn("circle", { class: "mark-spot", cx: at[0], cy: at[1], r: size })));
}

async function spotOf(atlas, photo, parts, id) {
  const told = (mark) => templateOf(atlas, { view: photo.view, facing: "right" }, parts, mark);
  const place = told(id);
  if (!place) return null;
  if (!SIDES.includes(photo.view)) return PLACED[photo.view]?.(place) ?? null;
  const anchors = await anchorsOf(parts);
  const known = KNOWN[id]?.(anchors);
  if (known) return known;
  const pairs = Object.entries(KNOWN)
    .map(([mark, of]) => [told(mark), of(anchors)])
    .filter(([from, to]) => from && to);
  return [0, 1].map((axis) =>
    onLine(
      pairs.map((pair) => pair.map((one) => one[axis])),
      place[axis],
    ),
  );
}

/** Where `at` lies on the straight line through [from, to] pairs, by least squares. */
function onLine(pairs, at) {
  const mean = (which) => pairs.reduce((sum, pair) => sum + pair[which], 0) / pairs.length;
  const [x, y] = [mean(0), mean(1)];
  const square = pairs.reduce((sum, [from]) => sum + (from - x) ** 2, 0);
  const slope = square ? pairs.reduce((sum, [from, to]) => sum + (from - x) * (to - y), 0) / square : 0;
  return y + slope * (at - x);
}
