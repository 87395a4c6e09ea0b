// Curves for drawings: a smooth line through points, and hair along it. Points are [x, y] with y
// upwards; a third entry 1 makes a corner. A curve is a list of cubic pieces [from, out, in, to].

/** @typedef {number[]} Point */
/** @typedef {Point[]} Piece */

/** @type {(one: Point, other: Point) => Point} */
const minus = ([x, y], [u, v]) => [x - u, y - v];
/** The point `by` times `way` from `point`.
    @type {(point: Point, way: Point, by?: number) => Point} */
export const go = ([x, y], [u, v], by = 1) => [x + u * by, y + v * by];
/** @type {(way: Point) => number} */
const size = ([x, y]) => Math.hypot(x, y) || 1e-6;
/** @type {(way: Point) => Point} */
const unit = (way) => go([0, 0], way, 1 / size(way));
/** To the left of the way one goes: outside, for a contour that goes from the nape to the nose and down. */
/** @type {(way: Point) => Point} */
const left = ([x, y]) => [-y, x];
/** The point `share` of the way from one to another.
    @type {(one: Point, other: Point, share: number) => Point} */
export const between = (one, other, share) => go(one, minus(other, one), share);

const HANDLE = 0.36;

/** The curve through `points`; `closed` brings it back to the first.
    @type {(points: Point[], closed?: boolean) => Piece[]} */
export const curve = (points, closed = false) => {
  const count = points.length;
  const at = (place) => points[closed ? (place + count) % count : Math.max(0, Math.min(count - 1, place))];
  const ways = points.map((point, place) => tangent(at(place - 1), point, at(place + 1)));
  return points.slice(0, closed ? count : -1).map((from, place) => {
    const to = at(place + 1);
    const reach = size(minus(to, from)) * HANDLE;
    const straight = unit(minus(to, from));
    const out = from[2] ? straight : ways[place];
    const into = to[2] ? straight : ways[(place + 1) % count];
    return [from, go(from, out, reach), go(to, into, -reach), to];
  });
};

/** The way of a smooth line at a point: that of the circle through it and its neighbours. */
function tangent(before, point, after) {
  const come = minus(point, before);
  const leave = minus(after, point);
  return unit(go(go([0, 0], come, size(leave) / size(come)), leave, size(come) / size(leave)));
}

/** `points` moved outwards, each by its own measure in `lofts`. */
export const lofted = (points, lofts) =>
  points.map((point, place) => {
    if (!lofts[place]) return point;
    const before = points[(place + points.length - 1) % points.length];
    const out = left(tangent(before, point, points[(place + 1) % points.length]));
    return [...go(point, out, lofts[place]), point[2] ?? 0];
  });

/** @type {(piece: Piece, share: number) => Point} */
const along = ([from, out, into, to], share) => {
  const rest = 1 - share;
  const [a, b, c, d] = [rest ** 3, 3 * rest * rest * share, 3 * rest * share * share, share ** 3];
  return [from[0] * a + out[0] * b + into[0] * c + to[0] * d, from[1] * a + out[1] * b + into[1] * c + to[1] * d];
};

const SHARES = [0, 1, 2, 3, 4, 5, 6, 7].map((place) => place / 8);

/** Points about `step` apart on some pieces. */
function spaced(pieces, step) {
  const fine = pieces.flatMap((piece) => SHARES.map((share) => along(piece, share)));
  fine.push(pieces[pieces.length - 1][3]);
  const lengths = fine.map((point, place) => (place ? size(minus(point, fine[place - 1])) : 0));
  const whole = lengths.reduce((sum, length) => sum + length, 0);
  const count = Math.max(1, Math.round(whole / step));
  const shift = (place) => (whole * (place + 0.22 * Math.sin(place * 5.1))) / count;
  const found = [fine[0]];
  let gone = 0;
  for (let place = 1; place < fine.length; place += 1) {
    while (found.length < count && gone + lengths[place] >= shift(found.length)) {
      const over = shift(found.length) - gone;
      found.push(between(fine[place - 1], fine[place], over / (lengths[place] || 1)));
    }
    gone += lengths[place];
  }
  found.push(fine[fine.length - 1]);
  return found;
}

// No two locks alike, and the same ones each time.
const uneven = (place) => 0.78 + 0.44 * Math.abs(Math.sin(place * 2.4 + 0.7));
/** Hair lies towards the tail, and it hangs. */
const LIE = unit([-0.55, -1]);

/** Hair over `pieces`: `kind` "lock" or "curl", `length` and `step` in units of the drawing. */
export function hair(pieces, { kind, length, step }) {
  const roots = spaced(pieces, step);
  return roots.slice(1).flatMap((to, place) => {
    const from = roots[place];
    const out = left(unit(minus(to, from)));
    const reach = length * uneven(place);
    return kind === "curl"
      ? [[from, go(from, out, reach * 1.35), go(to, out, reach * 1.35), to]]
      : lock(from, to, out, reach);
  });
}

/** One lock of hair: a long side that follows the hair and a short one that comes back. */
function lock(from, to, out, reach) {
  const ahead = minus(to, from);
  const lies = unit(go(out, LIE, 0.9));
  if (ahead[0] * lies[0] + ahead[1] * lies[1] < 0) {
    return lock(to, from, out, reach)
      .reverse()
      .map((piece) => [...piece].reverse());
  }
  const tip = go(go(to, lies, reach), ahead, -0.08);
  return [
    [from, go(go(from, ahead, 0.35), out, reach * 0.22), go(go(to, ahead, -0.1), out, reach * 0.55), tip],
    [tip, go(tip, lies, -reach * 0.4), go(to, ahead, -0.12), to],
  ];
}

/** A band around the line through `spine`, half as wide at each point as `widths` says, to a tip. */
export function band(spine, widths) {
  const tip = spine.length - 1;
  const sides = spine.slice(0, tip).map((point, place) => {
    const out = left(tangent(spine[Math.max(0, place - 1)], point, spine[place + 1]));
    return [go(point, out, widths[place]), go(point, out, -widths[place])];
  });
  return [...sides.map(([one]) => one), spine[tip], ...sides.map(([, other]) => other).reverse()];
}

const short = (number) => `${Math.round(number * 10) / 10}`;

/** The curve as the path of an SVG; `place` takes a point to the page.
    @type {(pieces: Piece[], place?: (point: Point) => Point) => string} */
export const path = (pieces, place = ([x, y]) => [x, y]) => {
  const told = (point) => place(point).map(short).join(" ");
  return `M${told(pieces[0][0])}${pieces.map(([, out, into, to]) => `C${told(out)} ${told(into)} ${told(to)}`).join("")}`;
};
