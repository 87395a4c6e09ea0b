// Proportions of a dog from the marks on a photo, with how sure they are; as ringside/domain/measure.py,
// which says why. Both are held to the same answers by tests/vectors/measure.json and by chance.
//
// atlas    photo.json: {views, marks, measures, …} (ringside/knowledge/photo)
// photo    the values of its record: {view, width, height, focal35, zoom, hides, stickers}
// marks    {mark: [x, y, "eye" | "sticker" | "seam"] | null}, parts of the picture; the topline is a list of such
// reading  {measure, class, value, u, why}: `u` is one standard uncertainty; `value` null where it cannot be
//          had, and `why` (a line of the atlas) says why it is not, or is not judged
// ask      {measures, low, high}: the measures that a number of the standard may mean

const DEG = 180 / Math.PI;
const FILM = Math.hypot(36, 24); // mm, the diagonal that focal lengths are told for
const USUAL = 26; // mm, the main lens of a phone
const UNSURE = 0.15; // of the focal length, where the camera did not tell
const TAP = 2 / 2048; // of the longer side
const FIND_AT = 600; // mm: the height of the dog that `find` is told for
const NEAR = 2; // m
const NEAREST = 2.5; // heights at the withers, where no height is known
const SHORT = 0.7; // muzzle to skull: below, no angle is laid on the head
const POINT = 0.05; // of a number that is asked alone (ours)
const YEAR = 12; // months
const ELBOW_BEHIND = 10; // degrees, by which the tip of the elbow bone lies behind a leg that is plumb
/** Photos marked twice, before they tell how a person finds a mark. */
export const PAIRS = 5;

const minus = (a, b) => [a[0] - b[0], a[1] - b[1]];
const middle = (a, b) => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
const dot = (a, b) => a[0] * b[0] + a[1] * b[1];
const mean = (list) => list.reduce((sum, one) => sum + one, 0) / list.length;

/** The angle of the way from a to b: from level, forward and up. */
const rise = (a, b) => Math.atan2(b[1] - a[1], b[0] - a[0]) * DEG;
/** From upright, of the way from a up to b: leaning back is more than 0. */
const lean = (a, b) => Math.atan2(a[0] - b[0], b[1] - a[1]) * DEG;
/** At b, between a and c. */
function joint(a, b, c) {
  const [one, other] = [minus(a, b), minus(c, b)];
  return Math.atan2(Math.abs(one[0] * other[1] - one[1] * other[0]), dot(one, other)) * DEG;
}
/** Of an ear, from upright to the side `out` (-1 or 1); hanging is up to 180 and beyond. */
function outward(a, b, out) {
  const angle = Math.atan2(out * (b[0] - a[0]), b[1] - a[1]) * DEG;
  return angle < -90 ? angle + 360 : angle;
}
const both = (of) => (of("left", -1) + of("right", 1)) / 2;
const width = (p, name) => apart(p[`${name}-left`], p[`${name}-right`]);
const across = (p, name) => Math.abs(p[`${name}-left`][0] - p[`${name}-right`][0]);

/** How much the outline rises over its chord, in per cent of it: least squares on k·s(1−s) + m·s(1−s)(s−½). */
function bow(p) {
  const [from, to] = [p.withers, p["tail-set"]];
  const chord = minus(to, from);
  const square = dot(chord, chord);
  const up = chord[0] < 0 ? [chord[1], -chord[0]] : [-chord[1], chord[0]];
  let [aa, ab, bb, ay, by] = [0, 0, 0, 0, 0];
  for (const point of p.topline) {
    const way = minus(point, from);
    const [s, y] = [dot(way, chord) / square, dot(way, up) / square];
    const a = s * (1 - s);
    const b = a * (s - 0.5);
    [aa, ab, bb, ay, by] = [aa + a * a, ab + a * b, bb + b * b, ay + a * y, by + b * y];
  }
  return (25 * (ay * bb - by * ab)) / (aa * bb - ab * ab);
}

const depth = (p) => p.withers[1] - p.brisket[1];
const head = (p) => apart(p.nose, p.occiput);
const back = (p) => apart(p.withers, p["tail-set"]);
const muzzle = (p) => apart(p.nose, p.stop) / apart(p.stop, p.occiput);

// Of points in the frame of the view: x forward and y up, the side's in heights at the withers.
const FORMULAS = {
  "length-forechest": (p) => p.forechest[0] - p.buttock[0],
  "length-shoulder": (p) => p["shoulder-point"][0] - p.buttock[0],
  back,
  depth,
  clearance: (p) => p.brisket[1],
  elbow: (p) => p.elbow[1],
  "leg-depth": (p) => p.elbow[1] / depth(p),
  croup: (p) => p.croup[1],
  head,
  "head-back": (p) => head(p) / back(p),
  hock: (p) => p.hock[1],
  "topline-bow": bow,
  "topline-slope": (p) => rise(p["tail-set"], p.withers),
  "tuck-up": (p) => (100 * (p["tuck-up"][1] - p.brisket[1])) / depth(p),
  neck: (p) => rise(p.withers, p.occiput),
  "rear-pastern": (p) => lean(p["hind-fetlock"], p.hock),
  foreleg: (p) => lean(p.carpus, p.elbow) - ELBOW_BEHIND,
  layback: (p) => lean(p["shoulder-point"], p["scapula-top"]),
  "upper-arm": (p) => rise(p.elbow, p["shoulder-point"]),
  "shoulder-angle": (p) => joint(p["scapula-top"], p["shoulder-point"], p.elbow),
  "stifle-angle": (p) => joint(p.hip, p.stifle, p.ankle),
  "hock-angle": (p) => joint(p.stifle, p.ankle, p["hind-fetlock"]),
  pelvis: (p) => rise(p.buttock, p.ilium),
  "fore-pastern": (p) => lean(p["fore-fetlock"], p.carpus),
  "muzzle-skull": muzzle,
  "muzzle-head": (p) => apart(p.nose, p.stop) / head(p),
  planes: (p) => rise(p["bridge-back"], p["bridge-fore"]) - rise(p["skull-back"], p["skull-fore"]),
  "ear-lean": (p) => both((at, out) => outward(p[`ear-base-${at}`], p[`ear-tip-${at}`], out)),
  "ear-set": (p) => both((at, out) => outward([0, 0], p[`ear-base-${at}`], out)) / 30,
  "eye-spacing": (p) => width(p, "inner-corner") / width(p, "cheek"),
  "feet-elbows": (p) => across(p, "front-foot") / across(p, "front-elbow"),
  "feet-shoulders": (p) => across(p, "front-foot") / across(p, "front-shoulder"),
  "leg-line": (p) => both((at, out) => out * lean(p[`front-foot-${at}`], p[`front-elbow-${at}`])),
  "waist-ribs": (p) => width(p, "waist") / width(p, "ribs"),
  "hips-shoulders": (p) => width(p, "above-hip") / width(p, "above-shoulder"),
};

/** The marks that the axes of a view go through, from one end to the other. */
const AXES = {
  side: [
    ["hind-near", "hind-far"],
    ["fore-near", "fore-far"],
  ],
  "head-side": [["occiput"], ["nose"]],
  "head-front": [["eye-left"], ["eye-right"]],
  front: [["front-foot-left"], ["front-foot-right"]],
  above: [["above-hip-left"], ["above-hip-right"]],
};

/** The marks that decide on the frame of a view. */
const frameMarks = (view) => [...AXES[view].flat(), ...(view === "side" ? ["withers"] : [])];

/** The frame of a view, of points in pixels from the middle of the picture, through a lens of `focal` pixels:
    {zero, e, n, scale, unit, share}; `scale` is the height at the withers in pixels. On the side, what stands
    nearer than the middle of the dog is drawn back to it: `share` of its depth, which needs no size but the
    one on the picture. */
function frameOf(atlas, view, points, focal) {
  const { size } = atlas.views[view];
  /** @type {any} */
  let frame = null;
  let share = 0;
  for (let round = 0; round < (size ? 1 : 3); round += 1) {
    const at = (id) => points[id].map((part) => part * (1 - share * atlas.marks[id].depth));
    const [from, to] = AXES[view].map((ids) => middle(at(ids[0]), at(ids[ids.length - 1])));
    const way = minus(to, from);
    const e = way.map((part) => part / Math.hypot(...way));
    const n = e[0] > 0 ? [e[1], -e[0]] : [-e[1], e[0]]; // up, where y goes down
    const scale = size ? apart(at(size.from), at(size.to)) / size.share : dot(minus(at("withers"), from), n);
    const zero = view === "head-front" ? middle(from, to) : from;
    frame = { zero, e, n, scale, unit: size ? 1 : scale, share };
    share = scale / focal;
  }
  return frame;
}

/** A point in a frame: x forward and y up. */
function placed({ zero, e, n, unit, share }, at, depth) {
  const way = minus(
    at.map((part) => part * (1 - share * depth)),
    zero,
  );
  return [dot(way, e) / unit, dot(way, n) / unit];
}

/** The place in a frame of one mark; of the topline a list. */
const placeOf = (atlas, frame, id, at) =>
  id === "topline" ? at.map((one) => placed(frame, one, 0)) : placed(frame, at, atlas.marks[id].depth);

/** The focal length in pixels, and how unsure it is. */
function lens({ width: w, height: h, focal35, zoom }) {
  const diagonal = Math.hypot(w, h);
  return focal35 > 0
    ? { focal: (focal35 * (zoom > 0 ? zoom : 1) * diagonal) / FILM, unsure: 0 }
    : { focal: (USUAL * diagonal) / FILM, unsure: UNSURE };
}

/** The marks that can be seen, in pixels from the middle of the picture. */
function pointsOf(atlas, photo, marks) {
  const place = ([x, y]) => [(x - 0.5) * photo.width, (y - 0.5) * photo.height];
  const known = atlas.views[photo.view].marks.filter((id) => marks[id]?.length);
  return Object.fromEntries(known.map((id) => [id, id === "topline" ? marks[id].map(place) : place(marks[id])]));
}

/** What the marks on one photo come to: a reading of each measure of its view.
    `heightCm` is the dog's at the withers, `tem` {mark: mm} how the person finds them (`ownFinding`).
    @param {any} atlas @param {any} photo @param {any} marks @param {{heightCm?: number | null, tem?: any}} [known] */
export function readings(atlas, photo, marks, { heightCm = null, tem = null } = {}) {
  const mine = Object.entries(atlas.measures).filter(([, one]) => one.view === photo.view);
  const points = pointsOf(atlas, photo, marks);
  const has = (list) => list.every((id) => points[id]);
  const whole = mine.filter(([, one]) => has(one.needs));
  const none = (id, one, why) => ({ measure: id, class: one.class, value: null, u: null, why });
  if (!whole.length) return mine.map(([id, one]) => none(id, one, "unseen"));
  const { focal, unsure } = lens(photo);
  const inFrame = (frame) =>
    Object.fromEntries(Object.entries(points).map(([id, at]) => [id, placeOf(atlas, frame, id, at)]));
  const frame = frameOf(atlas, photo.view, points, focal);
  const known = inFrame(frame);
  const values = whole.map(([id]) => FORMULAS[id](known));
  const squares = whole.map(([, one]) => (one.pose ?? 0) ** 2 + (one.stance ?? 0) ** 2);
  const add = (over, under, only = null) => {
    for (const [at, [id, { needs }]] of whole.entries()) {
      if (!only || needs.includes(only)) squares[at] += ((FORMULAS[id](over) - FORMULAS[id](under)) / 2) ** 2;
    }
  };
  const tap = TAP * Math.max(photo.width, photo.height);
  const leads = frameMarks(photo.view);
  for (const [point, id, how] of each(points, marks)) {
    const sigma = slip(atlas.marks[id], how, tem?.[id], tap, frame.scale);
    for (const axis of [0, 1]) {
      const at = point[axis];
      const [over, under] = [at + sigma, at - sigma].map((to) => {
        point[axis] = to;
        if (leads.includes(id)) return inFrame(frameOf(atlas, photo.view, points, focal));
        return { ...known, [id]: placeOf(atlas, frame, id, points[id]) };
      });
      point[axis] = at;
      add(over, under, leads.includes(id) ? null : id);
    }
  }
  if (unsure) {
    const off = 1 + unsure / Math.sqrt(3);
    const [over, under] = [focal * off, focal / off].map((f) => inFrame(frameOf(atlas, photo.view, points, f)));
    add(over, under);
  }
  const why = isNear(photo, focal, frame.scale, heightCm, unsure) ? "near" : null;
  const told = new Map(whole.map(([id], at) => [id, { value: values[at], u: Math.sqrt(squares[at]) }]));
  return mine.map(([id, one]) => {
    const found = told.get(id);
    if (!found || !Number.isFinite(found.value)) return none(id, one, "unseen");
    if (one.class === 3 && !photo.stickers) return none(id, one, "stickers");
    if (id === "planes" && muzzle(known) < SHORT) return none(id, one, "short-head");
    return { measure: id, class: one.class, ...found, why: why ?? (one.coat && photo.hides ? "coat" : null) };
  });
}

/** [point, mark, how it was found] of all points. */
const each = (points, marks) =>
  Object.entries(points).flatMap(([id, at]) =>
    id === "topline" ? at.map((one, k) => [one, id, marks[id][k][2]]) : [[at, id, marks[id][2]]],
  );

/** By how many pixels an axis of a mark is off (SD). */
function slip(mark, how, own, tap, scale) {
  if (own != null) return Math.max((own * scale) / FIND_AT, tap);
  return Math.hypot(tap, ((how === "sticker" ? mark.find / 2 : mark.find) * scale) / FIND_AT);
}

function isNear(photo, focal, scale, heightCm, unsure) {
  if (photo.view !== "side") return false;
  const heights = (focal / scale) * (1 + unsure);
  return heightCm > 0 ? (heights * heightCm) / 100 < NEAR : heights < NEAREST;
}

/** The readings of several photos of one dog, marked by one person, as one: [{measure, class, value, u, n, why}]. */
export function combined(lists) {
  const ids = [...new Set(lists.flat().map(({ measure }) => measure))];
  return ids.map((measure) => {
    const all = lists.flat().filter((one) => one.measure === measure);
    const told = all.filter(({ value }) => value != null);
    const n = told.length;
    const { class: of } = all[0];
    if (!n || (of === 3 && n < 3)) {
      return { measure, class: of, value: null, u: null, n, why: n ? "three" : all[0].why };
    }
    const u = Math.sqrt(told.reduce((sum, one) => sum + one.u ** 2, 0)) / n;
    const why = told.find((one) => one.why)?.why ?? null;
    return { measure, class: of, value: mean(told.map(({ value }) => value)), u, n, why };
  });
}

/** The measures of a dog on which no word is said, by what its readings are. */
export function withheld(atlas, list) {
  const told = list.filter(({ value }) => value != null);
  const least = new Map(told.map(({ measure, value, u }) => [measure, value - 2 * u]));
  return atlas.withheld
    .filter(({ measure, below }) => (least.get(measure) ?? Infinity) < below)
    .flatMap(({ measures }) => measures);
}

/** Whether a dog of so many months is still growing: it is recorded, not judged. */
export const isPuppy = (months) => months != null && months < YEAR;

/** {word, low, high}: how a reading stands to what is asked, within `low` and `high` (null: open), of a dog
    so many `months` old on the day (null: not known); `word` null where it is only recorded, as where its
    measure is set `aside` (`withheld`).
    @param {any} reading @param {any} ask @param {number | null} months @param {string[]} [aside] */
export function verdict(reading, ask, months, aside = []) {
  const isPoint = ask.low != null && ask.low === ask.high;
  const low = isPoint ? ask.low * (1 - POINT) : (ask.low ?? null);
  const high = isPoint ? ask.high * (1 + POINT) : (ask.high ?? null);
  const isTold = reading.class === 1 && reading.value != null && !reading.why;
  const isJudged = isTold && !isPuppy(months) && !aside.includes(reading.measure);
  return { word: isJudged ? wordOf(reading, low, high) : null, low, high };
}

function wordOf({ value, u }, low, high) {
  const [least, most] = [value - 2 * u, value + 2 * u];
  if (low != null && most < low) return "under";
  if (high != null && least > high) return "over";
  return (low == null || least > low) && (high == null || most < high) ? "meets" : "cannot tell";
}

/** The technical error of pairs [[one, other], …] of the same thing measured twice. */
export const technicalError = (pairs) =>
  Math.sqrt(pairs.reduce((sum, [one, other]) => sum + (one - other) ** 2, 0) / (2 * pairs.length));

/** The least change between two values that can be believed, by the technical error. */
export const leastChange = (tem) => 1.96 * Math.SQRT2 * tem;

/** {mark: mm} how a person finds each mark (SD per axis, as on a dog of 60 cm), from [[photo, marks, marks
    set once more], …]; of marks that were set twice on at least five photos. */
export function ownFinding(atlas, twice) {
  const found = {};
  for (const [photo, ...rounds] of twice) {
    const [one, other] = rounds.map((marks) => pointsOf(atlas, photo, marks));
    if (!frameMarks(photo.view).every((id) => one[id])) continue;
    const { scale } = frameOf(atlas, photo.view, one, lens(photo).focal);
    for (const id of Object.keys(one).filter((mark) => other[mark] && mark !== "topline")) {
      const pairs = [0, 1].map((axis) => [one[id][axis], other[id][axis]].map((at) => (at * FIND_AT) / scale));
      found[id] = [...(found[id] ?? []), ...pairs];
    }
  }
  const enough = Object.entries(found).filter(([, pairs]) => pairs.length >= 2 * PAIRS);
  return Object.fromEntries(enough.map(([id, pairs]) => [id, technicalError(pairs)]));
}

/** [{measure, value}] of how the dog was stood: what is beyond what the atlas allows, so that it is stood again. */
export const stance = (atlas, list) =>
  list.filter(({ measure, value }) => value != null && Math.abs(value) > (atlas.measures[measure].stand ?? Infinity));
