// What a station lights in a dog's drawing, told from its anchors; all in units of the page.

import { between, curve, go, path } from "./contour.js";

// Fingers, thumb and cuff: what follows the first point are pairs of handles and the next point.
const HAND = [
  ...[
    [2, 8],
    [-1, 5],
    [0, 1],
    [4, 1],
    [8, 1],
    [9, 4],
    [12, 6],
    [17, 9],
    [24, 8],
    [29, 5],
    [30, 0],
    [34, -8],
    [39, -7],
  ],
  ...[
    [44, -6],
    [41, 0],
    [40, 4],
    [45, 4],
    [51, 4],
    [56, 4],
    [56, 9],
    [56, 15],
    [56, 20],
    [51, 20],
    [45, 20],
    [40, 20],
  ],
  ...[
    [24, 20],
    [10, 18],
    [2, 8],
  ],
];
const GROUND = 213;
const FRAME = "M6 28V6h22M292 6h22v22M314 192v22h-22M28 214H6v-22";
const STEWARDS = "M250 207c0-38 22-38 22 0zM288 207c0-38 22-38 22 0z";
/** @type {(point: number[], way: number[]) => string} */
const arrow = ([x, y], way) => {
  const [u, v] = way;
  const tip = [x + u * 36, y + v * 36];
  const barb = (side) => go(go(tip, [-u, -v], 13), [-v * side, u * side], 13);
  return line([x, y], tip) + line(barb(1), tip, barb(-1));
};
/** @type {(point: number[]) => string} */
const told = ([x, y]) => `${Math.round(x * 10) / 10} ${Math.round(y * 10) / 10}`;
const line = (...points) => `M${points.map(told).join("L")}`;
/** @type {(point: number[], radius: number) => string} */
const ring = ([x, y], radius) =>
  `M${told([x - radius, y])}a${radius} ${radius} 0 1 0 ${2 * radius} 0a${radius} ${radius} 0 1 0 ${-2 * radius} 0`;
const dot = (point) => `M${told(point)}h.1`;
/** A hand that comes from the right; `turn` -1: from the left.
    @type {(point: number[], turn?: number) => string} */
const hand = ([x, y], turn = 1) => {
  const points = HAND.map(([u, v]) => [x + u * turn, y + v]);
  return path(points.slice(0, -1).flatMap((_, place) => (place % 3 ? [] : [points.slice(place, place + 4)])));
};
const least = (value, low, high) => Math.max(low, Math.min(high, value));
const last = (list) => list[list.length - 1];

const solid = (d) => ({ d, width: 2, fill: 1 });

const SPOTS = {
  free_stack: ({ toe }, { legs }) => [
    ...legs.map((d) => ({ d, width: 6, fill: 0.25 })),
    { d: `M8 ${GROUND}H${Math.round(toe[0] + 24)}`, width: 6 },
  ],
  approach: ({ nose }) => {
    const at = [least(nose[2][0] + 10, 150, 256), least(nose[2][1] + 4, 40, 180)];
    return [solid(hand(at)), { d: arrow(go(at, [46, -20]), [-1, 0]) }];
  },
  lift: ({ brisket, flank }) => {
    const [front, rear] = [brisket, flank].map(([x, y]) => [x, Math.min(y + 5, 192)]);
    return [
      solid(hand(go(front, [-24, 0]))),
      solid(hand(go(rear, [2, 0]), -1)),
      { d: arrow(go(front, [-4, -10]), [0, -1]) + arrow(go(rear, [-10, -12]), [0, -1]) },
    ];
  },
  walk_up: ({ toe }) => {
    const from = Math.min(toe[0] + 24, 236);
    const prints = [0, 0.5, 1].map((share) => [from + (270 - from) * share, share === 0.5 ? 197 : 206]);
    /** @type {(point: number[]) => string} */
    const toes = ([x, y]) =>
      [
        [7, -6],
        [10, 0],
        [7, 6],
      ]
        .map((way) => dot(go([x, y], way)))
        .join("");
    return [
      { d: prints.map(dot).join(""), width: 9 },
      { d: prints.map(toes).join(""), width: 5 },
      { d: line([from, 170], [306, 170]) + line([293, 157], [306, 170], [293, 183]) },
      { d: ring([301, 203], 10), width: 5 },
    ];
  },
  head: ({ nape, head, throat }) => [{ d: path(curve([nape, ...head, throat])), fill: 0.22 }],
  eyes: ({ eye }) => [
    { d: dot(eye), width: 9 },
    { d: ring(eye, 13), width: 5 },
  ],
  ears: (_, { ear }) => [{ d: ear, width: 6, fill: 0.45 }],
  bite: ({ mouth }) => [
    { d: path(curve(mouth)), width: 6 },
    { d: ring(between(mouth[0], mouth[1], 0.4), 16), width: 5 },
  ],
  neck: ({ nape, crest, withers, front, throat, chest }) => [
    { d: path(curve([nape, ...crest, withers])), width: 8 },
    { d: path(curve([throat, ...front])), width: 8 },
    {
      d: `${path(curve([nape, ...crest, withers]))}L${told(between(withers, chest, 0.6))}L${told(last(front))}L${told(throat)}z`,
      width: 0,
      fill: 0.22,
    },
  ],
  shoulders: ({ withers, chest, elbow, knee, toe }) => {
    const top = go(between(withers, elbow, 0.12), [3, 0]);
    const point = go(chest, [-12, 4]);
    const middle = between(top, point, 0.5);
    const side = [(point[1] - top[1]) * 0.28, (top[0] - point[0]) * 0.28];
    const corner = (at) => [...at, 1];
    return [
      {
        d: path(curve([corner(top), go(middle, side), corner(point), go(middle, side, -1)], true)),
        width: 6,
        fill: 0.35,
      },
      { d: line(point, go(elbow, [4, 0]), knee, [knee[0], toe[1] - 4]), width: 7 },
    ];
  },
  topline: ({ withers, back, loin, croup, root, brisket, belly, flank }) => [
    { d: path(curve([withers, back, loin, croup, root])), width: 10 },
    { d: path(curve([brisket, belly, flank])), width: 5, opacity: 0.7 },
  ],
  knees: ({ croup, stifle, hock }) => [
    { d: line(between(croup, stifle, 0.25), stifle, hock, [hock[0] + 2, 200]), width: 6 },
    { d: ring(stifle, 13) + ring(hock, 12), width: 5 },
  ],
  testes: ({ groin }) => [
    { d: ring(groin, 10), width: 5 },
    { d: dot(groin), width: 7 },
  ],
  last_stack: () => [{ d: FRAME, width: 5 }],
  line: () => [
    { d: `M6 ${GROUND}H314`, width: 6 },
    solid(STEWARDS),
    { d: dot([261, 168]) + dot([299, 168]), width: 14 },
  ],
};

/** Stations at which the whole dog is looked at: it is lit all around. */
const WHOLE = ["outline", "last_stack"];

/** What is lit below and above the lines: {under, over}, lists of {d, width, fill, opacity}. */
export function spotMarks(id, anchors, shapes) {
  return {
    under: WHOLE.includes(id) ? shapes.dog.map((d) => ({ d, width: 13 })) : [],
    over: SPOTS[id]?.(anchors, shapes) ?? [],
  };
}
