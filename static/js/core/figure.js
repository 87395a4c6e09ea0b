// A dog's line drawing, put together from the parts of figureparts.js. It is done on the phone and
// not on the server, because a dog that was written down without a signal has to be drawn too, and
// because the parts weigh a few kilobytes where a drawing for each breed would weigh a hundred times as much.

import { band, between, curve, go, hair, lofted, path } from "./contour.js";
import { BODIES, COATS, EARS, FORELEG, HEADS, HINDLEG, LEGS, TAILS, TOPLINES } from "./figureparts.js";
import { spotMarks } from "./figurespots.js";

/** The page is 320 wide and 220 high; the dog stands in this part of it. */
const BOX = { left: 10, width: 238, height: 193, ground: 206 };

const KNOWN = { body: BODIES, legs: LEGS, ears: EARS, tail: TAILS, coat: COATS, topline: TOPLINES };
const PLAIN = { body: "square", legs: "medium", ears: "drop", tail: "hanging", coat: "smooth", topline: "level" };

/** What is drawn of `given`: whatever is missing or unknown is a plain dog's. */
function partsOf(given) {
  const chosen = Object.keys(PLAIN).map((of) => [of, Object.hasOwn(KNOWN[of], given?.[of]) ? given[of] : PLAIN[of]]);
  const size = given?.size > 0 && given.size < 1 ? given.size : 1;
  return { ...Object.fromEntries(chosen), short_faced: given?.short_faced === true, size };
}

function headOf({ body, ears, coat, short_faced }) {
  if (short_faced) return body === "cobby" || ears === "fringed" ? "flat" : "short";
  if (body === "light") return "fine";
  if (body === "heavy") return "broad";
  if (ears === "long") return "hound";
  if (ears === "bat" && body !== "long" && coat !== "hairless") return "round";
  return ["prick", "bat", "tipped"].includes(ears) && coat !== "wire" ? "wedge" : "plain";
}

/** Whether the coat falls to the ground and hides the legs. */
function falls({ body, legs, ears, tail, coat }) {
  if (coat === "corded") return true;
  if (coat === "silky") return ears === "prick" || (ears === "fringed" && body === "long");
  return coat === "long" && ears === "fringed" && (tail === "curled" || legs === "short");
}

/** Whether fringed ears stand: on a dog of silky coat that carries its tail over the back. */
const winged = ({ body, ears, tail, coat, short_faced }) =>
  ears === "fringed" && coat === "silky" && tail === "curled" && body === "rectangular" && !short_faced;

const THICK = ["double", "long", "silky", "curly", "corded"];

/** Where everything of this dog is: its anchors, and what takes a part's points to their place. */
function skeleton(parts) {
  const body = BODIES[parts.body];
  const elbow = LEGS[parts.legs] * (body.leg ?? 1);
  const bone = body.bone * (parts.legs === "short" ? 1.12 : 1);
  /** @type {(point: number[]) => number[]} */
  const stand = ([x, y, corner = 0]) => {
    if (y > 49) return [x, y + elbow - 49, corner];
    return [x, y > 9 ? 9 + ((y - 9) * (elbow - 9)) / 40 : y, corner];
  };
  const raised = (name, place) => stand(go(body[name], [0, TOPLINES[parts.topline][place]]));
  const head = HEADS[headOf(parts)];
  /** @type {(point: number[]) => number[]} */
  const onHead = ([x, y, corner = 0]) => [...go(stand(body.nape), [x, y], body.head), corner];
  // Below the knee the foreleg reaches from wherever the elbow is to the ground.
  /** @type {(point: number[]) => number[]} */
  const foreleg = ([x, y]) => {
    const below = y < -35 ? -35 + ((y + 35) / 15) * (body.elbow[1] - 35) : y;
    return stand([body.elbow[0] + x * bone, body.elbow[1] + below]);
  };
  /** @type {(point: number[]) => number[]} */
  const hindleg = ([x, y]) => {
    const forward = (y < 40 ? body.hock : 0) + (x > 0 && y < 20 ? (bone - 1) * 6 : 0);
    return stand([body.buttock[0] + x + forward, y]);
  };
  /** @type {Record<string, any>} */
  const anchors = {
    ...Object.fromEntries(
      ["nape", "buttock", "flank", "belly", "brisket", "chest", "elbow"].map((name) => [name, stand(body[name])]),
    ),
    ...Object.fromEntries(
      ["withers", "back", "loin", "croup", "root"].map((name, place) => [name, raised(name, place)]),
    ),
    crest: body.crest.map(stand),
    front: body.front.map(stand),
    throat: onHead(head.throat),
    ear: onHead(head.ear),
    eye: onHead(head.eye),
    mouth: head.mouth.map(onHead),
    nose: head.nose.map(onHead),
    head: head.outline.map(onHead),
    toe: foreleg([18.5, -48]),
    knee: foreleg([9, -24]),
    stifle: hindleg([23, 50]),
    hock: hindleg([-6, 27]),
    groin: hindleg([13, 55]),
  };
  return { anchors, size: body.head, onHead, foreleg, hindleg };
}

/** The outline as [[region, points]], from the nape over the nose, down, round and back. */
function outlineOf(parts, { anchors: at, foreleg, hindleg }) {
  const [x, y] = at.chest;
  const legs = [
    ["fore", FORELEG.front.map(foreleg)],
    ["foot", FORELEG.foot.map(foreleg)],
    ["foreback", FORELEG.back.map(foreleg)],
    ["belly", [[at.elbow[0], at.elbow[1], 1], at.brisket, at.belly, at.flank]],
    ["stifle", HINDLEG.front.map(hindleg)],
    ["foot", HINDLEG.foot.map(hindleg)],
    ["hind", HINDLEG.back.slice(0, 3).map(hindleg)],
    ["breech", [...HINDLEG.back.slice(3).map(hindleg), at.buttock]],
  ];
  const fallen = [
    [
      "fall",
      [
        [x, y * 0.78],
        [x + 2.5, y * 0.4],
      ],
    ],
    [
      "hem",
      [
        [x + 3.5, 11],
        [x * 0.75, 7],
        [x * 0.3, 7],
        [-9, 11],
      ],
    ],
    ["fall", [[-8.5, y * 0.4], [-4.5, y * 0.8], go(at.buttock, [-1, 0])]],
  ];
  return [
    ["skull", [at.nape, ...at.head.slice(0, 3)]],
    ["muzzle", at.head.slice(3, -2)],
    ["throat", [...at.head.slice(-2), at.throat, ...at.front]],
    ["chest", [at.chest]],
    ...(falls(parts) ? fallen : legs),
    ["croup", [at.root, at.croup]],
    ["back", [at.loin, at.back, at.withers]],
    ["nape", [...at.crest].reverse()],
  ];
}

/** The outline with its coat, and where tails grow on it: [below, the root, above]. */
function bodyOf(parts, bones) {
  const coat = COATS[parts.coat];
  const runs = outlineOf(parts, bones);
  const lofts = runs.flatMap(([region, points]) => points.map(() => coat[region]?.[0] ?? 0));
  const points = lofted(
    runs.flatMap(([, of]) => of),
    lofts,
  );
  const pieces = curve(points, true);
  let begin = 0;
  const outline = runs.flatMap(([region, of]) => {
    const run = pieces.slice(begin, (begin += of.length));
    return coated(run, coat, coat[region]);
  });
  const root = runs
    .slice(
      0,
      runs.findIndex(([region]) => region === "croup"),
    )
    .flatMap(([, of]) => of).length;
  return { outline, rump: points.slice(root - 1, root + 2) };
}

/** `pieces` with the locks that a coat has there; a bare coat leaves them as they are.
    @param {number[]} locks */
function coated(pieces, { kind }, locks = [0, 0, 0]) {
  const [, length, step] = locks;
  return length && pieces.length ? hair(pieces, { kind, length, step }) : pieces;
}

/** The tail: its upper line ends a little before the root, the lower one a little below it. */
function tailOf(parts, [below, root, before]) {
  const coat = COATS[parts.coat];
  const { spine, widths } = TAILS[parts.tail === "curled" && THICK.includes(parts.coat) ? "plumed" : parts.tail];
  // A cobby dog's hanging tail is a short one, and no tail reaches the ground.
  const share = parts.body === "cobby" && parts.tail === "hanging" ? 0.5 : 1;
  const fall = share * Math.min(1, (root[1] - 8) / 60);
  const line = [root, ...spine.map(([x, y]) => go(root, [x * share, y * (y < 0 ? fall : share)]))];
  const full = widths.map(
    (width, place) => width + (coat.tail?.[0] ?? 0) * Math.sin((Math.PI * (place + 0.6)) / (widths.length - 0.4)),
  );
  const edge = band(line, [1, ...full]);
  edge[0] = between(root, below, 0.35);
  edge[edge.length - 1] = between(root, before, 0.3);
  const sides = curve(edge);
  // Feathers hang from the side that lies below when the tail is level; curls are all around.
  const fringe = coat.kind === "curl" ? sides.length : spine.length;
  return [...coated(sides.slice(0, fringe), coat, coat.tail), ...sides.slice(fringe)];
}

/** The lines of an ear, and of the other one where it is seen. */
function earsOf(parts, { anchors, size }) {
  const coat = COATS[parts.coat];
  const { outline, inner, behind } = EARS[winged(parts) ? "winged" : parts.ears];
  /** @type {(point: number[]) => number[]} */
  const from = ([x, y, corner = 0]) => [...go(anchors.ear, [x, y], size), corner];
  const hangs = ["drop", "long", "fringed"].includes(parts.ears);
  const fringe = winged(parts) ? 3 : 2;
  const ear = (shift) => {
    const edge = curve(outline.map(([x, y, corner = 0]) => from([x + shift[0], y + shift[1], corner])));
    if (!hangs || !THICK.includes(parts.coat)) return edge;
    const locks = coat.kind === "curl" ? [0, 2.4, 8] : [0, parts.ears === "drop" ? 3 : 5, 8];
    return [...edge.slice(0, fringe), ...coated(edge.slice(fringe), coat, locks)];
  };
  return { near: ear([0, 0]), far: behind && ear(behind), inner: inner && curve(inner.map(from)) };
}

const legOf = ({ front, foot, back }, to, forward) =>
  curve([...front.slice(1), ...foot, ...back.slice(0, 4)].map((point) => go(to(point), [forward, 0])));

/** What of the legs and the trunk stands behind the outline, and what is drawn into it. */
function trunkLines(parts, { anchors: at, foreleg, hindleg }) {
  if (!falls(parts)) {
    return {
      behind: [
        ["far", legOf(FORELEG, foreleg, 8)],
        ["far", legOf(HINDLEG, hindleg, 13)],
      ],
      within: [
        ["fine", curve([at.elbow, go(at.elbow, [-0.6, 6]), go(at.elbow, [3, 13])])],
        ["fine", curve([at.flank, go(at.flank, [-1, 6]), go(at.flank, [-5, 12])])],
      ],
    };
  }
  const count = parts.coat === "corded" ? 11 : 7;
  const strand = (place) => {
    const x = (at.chest[0] * place) / count - 4;
    const high = at.buttock[1] * (0.76 + 0.16 * Math.sin(place * 4));
    return [
      "fine",
      curve([
        [x + 6, high],
        [x + 3, high * 0.55],
        [x, 12],
      ]),
    ];
  };
  return {
    behind: [
      ["skin", curve(FORELEG.foot.map(foreleg))],
      ["skin", curve(HINDLEG.foot.map(hindleg))],
    ],
    within: Array.from({ length: count - 1 }, (_, place) => strand(place + 1)),
  };
}

/** Beard and brows, or the cords before the eyes. */
function faceHair(parts, { anchors, size, onHead }) {
  const { eye, mouth } = anchors;
  if (parts.coat === "corded") {
    const [before, hanging] = [
      [
        [6, 5.6],
        [15, 8.4],
        [23.5, 5],
        [27, -3],
      ],
      [
        [27, -3],
        [26, -13],
        [19, -15],
        [12, -12],
      ],
    ];
    return [
      [
        "skin",
        [...curve(before.map(onHead)), ...hair(curve(hanging.map(onHead)), { kind: "curl", length: 3, step: 4.5 })],
      ],
      ...[13, 18, 22.5].map((x) => [
        "fine",
        curve(
          [
            [x - 1, 3],
            [x + 0.6, -3],
            [x, -10],
          ].map(onHead),
        ),
      ]),
    ];
  }
  if (parts.coat !== "wire" && (!falls(parts) || parts.body === "cobby")) return [];
  const [lip, middle, corner] = mouth;
  const by = (point, way) => go(point, way, size);
  const beard = [
    by(lip, [0.8, 1.6]),
    by(lip, [3, -4]),
    by(lip, [-0.6, -11]),
    by(middle, [-2, -10]),
    by(corner, [-2.6, -5]),
    by(corner, [-1, 1.6]),
  ];
  const brow = [by(eye, [-3, 5.8]), by(eye, [3, 5]), by(eye, [6.6, -0.6])];
  return [
    ["skin", hair(curve(beard), { kind: "lock", length: 3.2, step: 7 })],
    ["skin", hair(curve(brow), { kind: "lock", length: 2.6, step: 5 })],
  ];
}

/** The lines of a dog from the hindmost to the foremost: [[pen, curve]]. */
function linesOf(parts, bones) {
  const { outline, rump } = bodyOf(parts, bones);
  const tail = tailOf(parts, rump);
  const ears = earsOf(parts, bones);
  const { behind, within } = trunkLines(parts, bones);
  const { eye, mouth, nose } = bones.anchors;
  const lines = [
    ...behind,
    ears.far && ["skin", ears.far],
    ["skin", outline],
    ...within,
    ["skin", tail],
    ["skin", ears.near],
    ears.inner && ["fine", ears.inner],
    ...faceHair(parts, bones),
    ["solid", curve(nose, true)],
    ["fine", curve(mouth)],
    parts.coat !== "corded" && ["eye", [[eye, eye, eye, eye]]],
  ];
  return { lines: lines.filter(Boolean), ears, tail, outline };
}

/** What takes a point to the page: as large as fits, or `size` of that, its feet on the ground. */
function placing(lines, size) {
  const points = lines.flatMap(([, pieces]) => pieces.flat());
  const across = points.map(([x]) => x);
  const [left, right] = [Math.min(...across), Math.max(...across)];
  const high = Math.max(...points.map(([, y]) => y));
  const scale = size * Math.min(BOX.height / high, BOX.width / (right - left));
  const begin = BOX.left + (BOX.width - (right - left) * scale) / 2;
  /** @type {(point: number[]) => number[]} */
  const place = ([x, y]) => [begin + (x - left) * scale, BOX.ground - y * scale];
  return place;
}

/**
 * The drawing of a dog, on a page of 320 by 220, with the spot `lit` (a station's id).
 *
 * `given` is {body, legs, ears, tail, coat, topline, short_faced, size}; what is missing or unknown falls
 * back to a plain dog. {lines: [[pen, path]] from the hindmost on, under and over: the lit marks
 * [{d, width, fill, opacity}] below and above them, anchors: {name: point or points}, shapes: the
 * paths of outline, tail, ear, legs and, to look at it whole, dog}.
 */
export function compose(given, lit = "") {
  const dog = dogOf(partsOf(given));
  return { ...dog, ...spotMarks(lit, dog.anchors, dog.shapes) };
}

// A list is drawn again and again, and a walk shows one dog with another spot lit each time.
const made = new Map();

function dogOf(parts) {
  const key = JSON.stringify(parts);
  if (!made.has(key)) made.set(key, madeOf(parts));
  return made.get(key);
}

function madeOf(parts) {
  const bones = skeleton(parts);
  const { lines, ears, tail, outline } = linesOf(parts, bones);
  const place = placing(lines, parts.size);
  const { elbow, flank, buttock } = bones.anchors;
  const legs = [
    [...[...FORELEG.front.slice(1), ...FORELEG.foot, ...FORELEG.back].map(bones.foreleg), elbow],
    [flank, ...[...HINDLEG.front, ...HINDLEG.foot, ...HINDLEG.back].map(bones.hindleg), buttock],
  ].map((points) => path(curve(points), place));
  const anchors = Object.fromEntries(
    Object.entries(bones.anchors).map(([name, at]) => [name, at[0].length ? at.map(place) : place(at)]),
  );
  const [far, body, back, near] = [ears.far ?? ears.near, outline, tail, ears.near].map((of) => path(of, place));
  const shapes = { outline: body, tail: back, ear: near, legs, dog: [far, body, back, near] };
  return { lines: lines.flatMap((line) => penned(line, place)), anchors, shapes };
}

/** One line on the page. A skin covers what lies behind, so it has the page's colour (app.css); the shade
    below it makes its line heavier on the side away from the light. */
function penned([pen, pieces], place) {
  const drawn = path(pieces, place);
  return pen === "skin"
    ? [
        ["shade", drawn],
        [pen, drawn],
      ]
    : [[pen, drawn]];
}
