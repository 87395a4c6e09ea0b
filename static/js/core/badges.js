// Where the numbers of the exam stand around a dog's drawing: above it and below it, in the order of the
// places that they name, each with a line to its place. In units of the drawing; pure.

import { between } from "./contour.js";

const middle = (points) => points[Math.floor(points.length / 2)];

const PLACES = {
  head: ({ head }) => middle(head),
  eyes: ({ eye }) => eye,
  ears: ({ nape }) => nape,
  bite: ({ mouth }) => mouth[0],
  neck: ({ nape, withers }) => between(nape, withers, 0.55),
  shoulders: ({ withers, chest }) => between(withers, chest, 0.5),
  topline: ({ back }) => back,
  knees: ({ stifle }) => stifle,
  testes: ({ groin }) => groin,
};
const ROWS = [
  { y: -18, ids: ["head", "eyes", "ears", "neck", "topline"] },
  { y: 238, ids: ["bite", "shoulders", "testes", "knees"] },
];
const APART = 42;
const EDGES = [20, 300];

/** [{id, at, to}] of the stations among `ids` that have a place in a drawing with these anchors. */
export function badgesOf(anchors, ids) {
  return ROWS.flatMap(({ y, ids: row }) => {
    const found = row
      .filter((id) => ids.includes(id))
      .map((id) => ({ id, to: PLACES[id](anchors) }))
      .sort((one, other) => one.to[0] - other.to[0]);
    const places = spread(found.map(({ to }) => to[0]));
    return found.map((one, place) => ({ ...one, at: [places[place], y] }));
  });
}

/** Numbers that rise, moved as little as keeps them apart and within the edges. */
export function spread(wanted) {
  const placed = [];
  for (const x of wanted) placed.push(Math.max(x, EDGES[0], (placed.at(-1) ?? Number.NEGATIVE_INFINITY) + APART));
  for (let place = placed.length - 1, most = EDGES[1]; place >= 0; place -= 1, most -= APART)
    placed[place] = Math.min(placed[place], most);
  return placed;
}
