// A picture from the camera made into a photo to keep: upright, of a size that is enough to mark, and
// without all that it tells of place, camera and time.

import { stripped, told } from "../core/jpeg.js";
import { maybeBlurred } from "../core/sharp.js";

const LONGEST = 2_048; // px
const MOST_BYTES = 1_500_000;
const MOST_PIXELS = 120_000_000;
const MOST_FILE = 80_000_000;
const QUALITIES = [0.88, 0.8, 0.7, 0.6, 0.45, 0.3];

/** {bytes, width, height, focal35, zoom, day, isBlurred} of a picture's file; `bytes` is an ArrayBuffer.
    Throws, in words, what cannot be had. */
export async function photoOf(file) {
  if (file.size > MOST_FILE) throw new Error("This file is too large. Take the photo at a smaller size.");
  const facts = told(new Uint8Array(await file.arrayBuffer()));
  if ((facts.width ?? 0) * (facts.height ?? 0) > MOST_PIXELS)
    throw new Error("This picture is too large. Take the photo at a smaller size.");
  const canvas = await drawn(file);
  const { width, height } = canvas;
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  const isBlurred = maybeBlurred(pen.getImageData(0, 0, width, height).data, width, height);
  const bytes = await encoded(canvas);
  const { focal35, zoom, day } = facts;
  return { bytes, width, height, focal35, zoom, day, isBlurred };
}

/** The picture upright on a canvas, its longer side `LONGEST` px at most. */
async function drawn(file) {
  const picture = await decoded(file);
  try {
    const by = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
    const [width, height] = [picture.width, picture.height].map((side) => Math.max(1, Math.round(side * by)));
    const canvas = canvasOf(width, height);
    const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d", { willReadFrequently: true }));
    if (!pen) throw new Error("This phone has no room for the picture. Close other apps and try again.");
    pen.imageSmoothingQuality = "high";
    pen.fillStyle = "#fff"; // under what a picture of another kind may leave clear
    pen.fillRect(0, 0, width, height);
    pen.drawImage(picture, 0, 0, width, height);
    return canvas;
  } finally {
    picture.close(); // the whole picture is large; what goes on needs the small one alone
  }
}

// The oldest browsers do as asked without being asked, and know no such word.
const decoded = (file) =>
  createImageBitmap(file, { imageOrientation: "from-image" })
    .catch(() => createImageBitmap(file))
    .catch(() => {
      throw new Error("This file is not a picture that this phone can open. Take a photo, or choose a JPEG.");
    });

/** @returns {any} a canvas that need not be in a page, where the browser has such */
function canvasOf(width, height) {
  if ("OffscreenCanvas" in globalThis) return new OffscreenCanvas(width, height);
  return Object.assign(document.createElement("canvas"), { width, height });
}

/** The canvas as a JPEG, the best that is small enough to keep. */
async function encoded(canvas) {
  for (const quality of QUALITIES) {
    const blob = await blobOf(canvas, quality);
    // An encoder may write segments of its own.
    const bytes = blob && stripped(new Uint8Array(await blob.arrayBuffer()));
    if (bytes && bytes.length <= MOST_BYTES) return bytes.buffer;
  }
  throw new Error("This browser cannot make a photo of this picture. Choose another one.");
}

const blobOf = (canvas, quality) =>
  canvas.convertToBlob
    ? canvas.convertToBlob({ type: "image/jpeg", quality })
    : new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", quality));
