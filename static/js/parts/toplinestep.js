// The line of the back: points evenly between withers and tail set, proposed from the picture's edge, each to be
// corrected by hand. It counts only once it is taken with a tap.

import { held } from "../core/held.js";
import { LINE } from "../core/photomarks.js";
import { clone, fill, on, part, say } from "../dom.js";
import { markCanvas } from "./markcanvas.js";
import { edgeOf } from "./seamof.js";

const POINTS = 13; // between the ends

/** {node, canvas, points}: the screen, its canvas, and what gives the line as it stands. `keep(line)` is called
    as points are corrected.
    @param {{picture: ImageBitmap, atlas: any, marks: any}} about @param {(line: any[]) => void} keep */
export function lineStep({ picture, atlas, marks }, keep) {
  const size = [picture.width, picture.height];
  const ends = [marks.withers, marks["tail-set"]].map((mark) => [mark[0] * size[0], mark[1] * size[1]]);
  const chord = [ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]];
  const length = Math.hypot(...chord) || 1;
  // Upright to the line between the ends, upward in the picture.
  const up = (chord[0] < 0 ? [-chord[1], chord[0]] : [chord[1], -chord[0]]).map((one) => one / length);
  const inParts = (along, off) =>
    [0, 1].map((axis) => (ends[0][axis] + chord[axis] * along + up[axis] * off) / size[axis]);
  const offOf = (place) => [0, 1].reduce((sum, axis) => sum + (place[axis] * size[axis] - ends[0][axis]) * up[axis], 0);
  const along = (at) => (at + 1) / (POINTS + 1);

  const edge = edgeOf(picture, ends);
  const before = held(marks, LINE);
  const isWhole = before?.length === POINTS;
  /** @type {Map<number, number>} how far from the chord the points are that were set by hand */
  const fixed = new Map(isWhole ? before.flatMap((one, at) => (one[2] === "eye" ? [[at, offOf(one)]] : [])) : []);
  // Straight where no edge can be looked for; what was set by hand stays where it was set.
  function proposed() {
    const set = [...fixed].map(([at, off]) => inParts(along(at), off).map((one, axis) => one * size[axis]));
    const found = edge(POINTS, set)?.map((point) => offOf(point.map((one, axis) => one / size[axis])));
    return Array.from({ length: POINTS }, (_, at) => fixed.get(at) ?? found?.[at] ?? 0);
  }

  let offs = isWhole ? before.map(offOf) : proposed();
  let chosen = (POINTS - 1) / 2;

  const node = fill(clone("mark-line"), { title: atlas.marks[LINE].name, says: atlas.marks[LINE].says });
  const points = () => offs.map((off, at) => [...inParts(along(at), off), fixed.has(at) ? "eye" : "seam"]);
  const canvas = markCanvas(part(node, "stage"), part(node, "loupe"), picture, {
    span: Math.min(1, (1.2 * Math.abs(chord[0])) / size[0]),
    place: inParts(along(chosen), offs[chosen]),
    dots: () => points().filter((_, at) => at !== chosen),
    line: () => [marks.withers, ...points(), marks["tail-set"]],
    moved(place, isDone) {
      const off = offOf(place);
      if (Math.abs(off - offs[chosen]) > 1e-9) fixed.set(chosen, off);
      offs[chosen] = off;
      if (isDone && fixed.size) {
        offs = proposed();
        keep(points());
      }
      return inParts(along(chosen), off);
    },
  });
  const choose = (by) => {
    chosen = Math.min(Math.max(chosen + by, 0), POINTS - 1);
    canvas.put(inParts(along(chosen), offs[chosen]));
    say(`Point ${chosen + 1} of ${POINTS}.`);
  };
  // The points lie from the withers to the tail, whichever way the dog faces.
  const right = chord[0] < 0 ? -1 : 1;
  on(node, "point-left", () => choose(-right));
  on(node, "point-right", () => choose(right));
  const nudge = (x, y) => (x ? choose(Math.sign(x) * right) : canvas.nudge(0, y));
  return { node, canvas: { ...canvas, nudge }, points };
}
