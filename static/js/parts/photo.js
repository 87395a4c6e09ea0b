// What the screens of photos share: their words, and the picture whole or small.

import { sayDay } from "../core/days.js";
import { held } from "../core/held.js";
import { clone, fill, icon, on, part, text } from "../dom.js";
import { pictureOf } from "../photos.js";
import { photoBook } from "../shipped.js";

const SMALL = 240; // px, twice what a row shows

/** The book of photos for a screen that does without its lines, where a first visit broke off before it came. */
export const viewsAtHand = () => photoBook().catch(() => ({ views: {} }));

/** The name of a view, as the book of photos has it. */
export const viewName = ({ views }, view) => held(views, view)?.name ?? sentence((view ?? "photo").replace("-", " "));

const sentence = (words) => words.charAt(0).toUpperCase() + words.slice(1);

/** What a person says of a photo, by the names of its fields. */
export const SAID = ["facing", "hides", "stickers", "day"];

/** What was said of a photo, in a line. */
export function saidOf({ day, facing, hides, stickers }) {
  const said = [
    day && sayDay(day),
    facing && `facing ${facing}`,
    hides && "coat hides the outline",
    stickers && "stickers on the points",
  ];
  return said.filter(Boolean).join(" · ") || "No details yet";
}

// Which side faces the camera is asked of these.
const FACING = ["side", "head-side"];
export const hasFacing = (view) => FACING.includes(view);

/** Show a picture in an image, whose address then goes. */
function load(image, blob) {
  const address = URL.createObjectURL(blob);
  for (const end of ["load", "error"]) image.addEventListener(end, () => URL.revokeObjectURL(address), { once: true });
  image.src = address;
}

/** The picture of a photo in `place`, whole, with a way to enlarge it; gives whether there is one. */
export async function putWhole(place, photo, name) {
  const blob = await pictureOf(photo);
  if (!blob) return false;
  const node = clone("photo-whole");
  const image = part(node, "image");
  image.alt = name;
  load(image, blob);
  on(node, "enlarge", () => {
    const isLarge = node.classList.toggle("large");
    fill(node, { words: isLarge ? "Show it whole" : "Enlarge" });
    const frame = part(node, "frame");
    frame.tabIndex = isLarge ? 0 : -1; // so that keys move what is larger than its frame
    frame.scrollTo((frame.scrollWidth - frame.clientWidth) / 2, (frame.scrollHeight - frame.clientHeight) / 2);
  });
  place.replaceChildren(node);
  return true;
}

/** Small pictures in their places, one after the other: [[place, photo], ...]. What is not here is said so. */
export async function putSmall(places) {
  for (const [place, photo] of places) {
    const small = await smallOf(photo).catch(() => null);
    if (small) place.replaceChildren(small);
    else place.replaceChildren(icon("missed"), text("span", "Not on this phone", "unseen"));
    place.classList.toggle("gone", !small);
  }
}

const drawnSmall = new Map();

/** Drawn small once: many whole pictures at a time are more than a phone has room for. */
async function smallOf({ values }) {
  const { sha256 } = values;
  if (!drawnSmall.has(sha256)) {
    const blob = await pictureOf(values);
    if (!blob) return null;
    const whole = await createImageBitmap(blob);
    drawnSmall.set(sha256, canvasWith(whole, SMALL / Math.min(whole.width, whole.height)));
    whole.close();
  }
  return canvasWith(drawnSmall.get(sha256), 1);
}

function canvasWith(picture, by) {
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [picture.width, picture.height].map((side) => Math.max(1, Math.round(side * by)));
  canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
  return canvas;
}
