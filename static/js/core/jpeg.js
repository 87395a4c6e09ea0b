// JPEG files (ITU-T T.81, JFIF, EXIF 2.32): what the camera tells that we need, and all it tells beside
// gone. Pure. Whatever the bytes are, this ends and throws nothing: each step goes on in the file, and no
// place is followed twice.

const SOI = 0xd8;
const EOI = 0xd9;
const SOS = 0xda;
const APP0 = 0xe0;
const APP1 = 0xe1;
// What a picture is drawn from: frames, tables, scans, the step of restarts.
const NEEDED = new Set([SOI, 0xc0, 0xc1, 0xc2, 0xc4, 0xdb, 0xdd, SOS, EOI]);
// The segments of an application that stay, each by the letters it begins with: shape of a pixel, colours,
// transform. The first and last have one length (bytes); a longer one has a small picture in it.
const KEPT = {
  [APP0]: { letters: "JFIF\0", length: 18 },
  [APP0 + 2]: { letters: "ICC_PROFILE\0", length: null },
  [APP0 + 14]: { letters: "Adobe", length: 16 },
};

const ORIENTATION = 0x0112;
const EXIF_AT = 0x8769;
const TAKEN = 0x9003;
const ZOOM = 0xa404;
const FOCAL_35 = 0xa405;
const MOST_FIELDS = 500;
const WIDTHS = { 2: 1, 3: 2, 4: 4, 5: 8 };

/** `bytes` (Uint8Array) without comments, position, camera, time or small picture, and without what
    follows its end; null for what is no whole JPEG. */
export function stripped(bytes) {
  const kept = [];
  let isWhole = false;
  for (const { marker, from, to } of segments(bytes)) {
    if (marker === EOI) isWhole = true;
    if (stays(bytes, marker, from, to)) kept.push(bytes.subarray(from, to));
  }
  if (!isWhole) return null;
  const whole = new Uint8Array(kept.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of kept) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

function stays(bytes, marker, from, to) {
  const { letters = "", length = null } = KEPT[marker] ?? {};
  if (!letters) return NEEDED.has(marker);
  if (marker === APP0 && (bytes[to - 2] || bytes[to - 1])) return false; // it says how large a small picture is
  return begins(bytes, from + 4, to, letters) && (!length || length === to - from);
}

const begins = (bytes, from, to, letters) =>
  from + letters.length <= to && [...letters].every((letter, place) => bytes[from + place] === letter.charCodeAt(0));

/** The parts of a JPEG in their order, [from, to) with the marker before each: what follows a scan's
    header is one part with it. It stops at the end of the picture, and where the file is broken. */
function* segments(bytes) {
  if (bytes[0] !== 0xff || bytes[1] !== SOI) return;
  yield { marker: SOI, from: 0, to: 2 };
  for (let at = 2; at + 1 < bytes.length; ) {
    if (bytes[at] !== 0xff) return;
    while (bytes[at] === 0xff) at += 1; // any number of these may stand before a marker
    const from = at - 1;
    const marker = bytes[at];
    at += 1;
    if (marker === EOI) {
      yield { marker, from, to: at };
      return;
    }
    if (at + 1 >= bytes.length || marker === 0 || marker === undefined) return;
    const length = bytes[at] * 256 + bytes[at + 1];
    if (length < 2 || at + length > bytes.length) return;
    at += length;
    if (marker === SOS) at = endOfScan(bytes, at);
    yield { marker, from, to: at };
  }
}

/** Where the coded picture from `at` on is over: at a marker that is neither a stuffed byte nor a restart. */
function endOfScan(bytes, at) {
  for (let place = bytes.indexOf(0xff, at); place >= 0; place = bytes.indexOf(0xff, place + 1)) {
    const next = bytes[place + 1];
    if (next !== undefined && next !== 0 && next !== 0xff && (next < 0xd0 || next > 0xd7)) return place;
  }
  return bytes.length;
}

/** What a picture tells of itself: {width, height} as it is stored, px; {orientation} 1 to 8; {focal35}
    mm on 35 mm film; {zoom}; {day}. Each null where it does not, or not believably. */
export function told(bytes) {
  const facts = { width: null, height: null, orientation: null, focal35: null, zoom: null, day: null };
  for (const { marker, from, to } of segments(bytes)) {
    if (isFrame(marker) && to - from >= 9) {
      const read = new DataView(bytes.buffer, bytes.byteOffset + from, to - from);
      Object.assign(facts, { height: read.getUint16(5) || null, width: read.getUint16(7) || null });
    }
    if (marker === APP1 && begins(bytes, from + 4, to, "Exif\0\0"))
      Object.assign(facts, exif(bytes.subarray(from + 10, to)));
    if (marker === SOS) break;
  }
  return facts;
}

// The frame headers, among which the marks for tables stand.
const isFrame = (marker) => marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);

function exif(block) {
  const order = String.fromCharCode(...block.subarray(0, 2));
  if (block.length < 8 || !["II", "MM"].includes(order)) return {};
  const read = new DataView(block.buffer, block.byteOffset, block.length);
  const little = order === "II";
  const first = fieldsAt(read, little, read.getUint32(4, little), [ORIENTATION, EXIF_AT]);
  const more = fieldsAt(read, little, first[EXIF_AT] ?? 0, [TAKEN, ZOOM, FOCAL_35]);
  return {
    orientation: within(first[ORIENTATION], 1, 8),
    focal35: within(more[FOCAL_35], 1, 2_000),
    zoom: within(more[ZOOM], 1, 200),
    day: dayIn(more[TAKEN]),
  };
}

const within = (number, least, most) =>
  typeof number === "number" && number >= least && number <= most ? number : null;

/** {tag: number or text} of the `wanted` fields of the directory at `at`; none it points to is followed. */
function fieldsAt(read, little, at, wanted) {
  const found = {};
  if (at < 8 || at + 2 > read.byteLength) return found;
  const count = Math.min(read.getUint16(at, little), MOST_FIELDS);
  for (let place = at + 2; place < at + 2 + 12 * count && place + 12 <= read.byteLength; place += 12) {
    const tag = read.getUint16(place, little);
    if (wanted.includes(tag)) found[tag] = readOne(read, little, place);
  }
  return found;
}

function readOne(read, little, place) {
  const type = read.getUint16(place + 2, little);
  const count = read.getUint32(place + 4, little);
  const size = (WIDTHS[type] ?? 0) * count;
  const at = size <= 4 ? place + 8 : read.getUint32(place + 8, little);
  if (!size || size > 64 || at + size > read.byteLength) return undefined;
  if (type === 2) return String.fromCharCode(...new Uint8Array(read.buffer, read.byteOffset + at, size));
  if (type === 3) return read.getUint16(at, little);
  if (type === 4) return read.getUint32(at, little);
  return read.getUint32(at, little) / read.getUint32(at + 4, little);
}

/** The day of "2026:11:29 10:04:05", if there is such a day. */
function dayIn(words) {
  const [, year, month, day] = /^(\d{4}):(\d\d):(\d\d)/.exec(words ?? "") ?? [];
  const written = `${year}-${month}-${day}`;
  const at = year ? new Date(`${written}T00:00:00Z`) : null;
  return at && !Number.isNaN(at.getTime()) && at.toISOString().startsWith(written) ? written : null;
}
