// A photo with its marks and the lines between them, to look at; without its pixels the lines alone.

import { held } from "../core/held.js";
import { LINE } from "../core/photomarks.js";
import { pictureOf } from "../photos.js";
import { ring, sized, stroke } from "./markcanvas.js";

const ROOM = 0.12; // of the dog's size, around it
const FORE = ["fore-near", "fore-far"];
const HIND = ["hind-near", "hind-far"];

// What is joined by a line: marks, or the middle of two.
const JOINED = {
  side: [
    [HIND, FORE],
    ["nose", "occiput", "withers"],
    ["withers", LINE, "tail-set", "buttock"],
    ["forechest", "buttock"],
    ["withers", "brisket"],
    ["scapula-top", "shoulder-point", "elbow"],
    ["elbow", FORE],
    ["carpus", "fore-fetlock"],
    ["ilium", "buttock"],
    ["hip", "stifle", "ankle", "hind-fetlock"],
    ["hock", "hind-fetlock"],
  ],
  "head-side": [
    ["nose", "stop", "occiput"],
    ["bridge-fore", "bridge-back"],
    ["skull-fore", "skull-back"],
  ],
  "head-front": [
    ["eye-left", "eye-right"],
    ["ear-base-left", "ear-tip-left"],
    ["ear-base-right", "ear-tip-right"],
    ["cheek-left", "cheek-right"],
  ],
  front: [
    ["front-shoulder-left", "front-shoulder-right"],
    ["front-elbow-left", "front-elbow-right"],
    ["front-foot-left", "front-foot-right"],
    ["front-elbow-left", "front-foot-left"],
    ["front-elbow-right", "front-foot-right"],
  ],
  above: [
    ["above-shoulder-left", "above-shoulder-right"],
    ["ribs-left", "ribs-right"],
    ["waist-left", "waist-right"],
    ["above-hip-left", "above-hip-right"],
  ],
};

/** The lines of a view between these marks, each a list of places; of what was not seen there is none. */
export function linesOf(view, marks) {
  const places = (id) => {
    const mark = held(marks, id);
    if (!mark) return [];
    return id === LINE ? mark : [mark];
  };
  const placed = (one) => {
    if (!Array.isArray(one)) return places(one);
    const both = one.flatMap(places);
    return both.length === 2 ? [[0, 1].map((axis) => (both[0][axis] + both[1][axis]) / 2)] : both;
  };
  return (held(JOINED, view) ?? []).map((ids) => ids.flatMap(placed)).filter((line) => line.length > 1);
}

/** Draw the part of the picture where the marks are, as large as the canvas is wide. `picture` may be missing;
    `photo` tells the size then.
    @param {HTMLCanvasElement} canvas
    @param {{picture: ImageBitmap | null, photo: any, marks: any}} told */
export function drawMarked(canvas, { picture, photo, marks }) {
  const { width, height } = picture ?? photo;
  const size = [width > 0 ? width : 4, height > 0 ? height : 3];
  const dots = Object.entries(marks).flatMap(([id, mark]) => (mark && id !== LINE ? [mark] : []));
  const box = boxOf(dots, size);
  canvas.style.aspectRatio = `${box.size[0]} / ${box.size[1]}`;
  const pen = sized(canvas);
  if (!pen) return;
  const of = canvas.clientWidth / box.size[0];
  pen.fillStyle = "#5d6864";
  pen.fillRect(0, 0, canvas.clientWidth, canvas.clientHeight);
  if (picture) pen.drawImage(picture, -box.from[0] * of, -box.from[1] * of, size[0] * of, size[1] * of);
  /** @type {(place: number[]) => number[]} */
  const at = ([x, y]) => [(x * size[0] - box.from[0]) * of, (y * size[1] - box.from[1]) * of];
  for (const line of linesOf(photo.view, marks)) stroke(pen, line.map(at), 1.5);
  for (const dot of dots) ring(pen, at(dot), 3.5);
}

/** {from, size} in pixels: where the marks are, with some room; all of the picture without two of them. */
function boxOf(dots, size) {
  if (dots.length < 2) return { from: [0, 0], size };
  const ends = [0, 1].map((axis) => {
    const all = dots.map((dot) => dot[axis] * size[axis]);
    return [Math.min(...all), Math.max(...all)];
  });
  const room = Math.max(...ends.map(([low, high]) => high - low)) * ROOM + 1;
  const from = ends.map(([low]) => Math.max(low - room, Math.min(0, low)));
  const to = ends.map(([, high], axis) => Math.min(high + room, Math.max(size[axis], high)));
  return { from, size: to.map((end, axis) => end - from[axis]) };
}

/** The pixels of a photo to draw, or null where they are not to be had. */
export const pixelsFor = (photo) =>
  pictureOf(photo)
    .then((blob) => blob && createImageBitmap(blob))
    .catch(() => null);
