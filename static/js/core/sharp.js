// Whether a picture may be blurred: the variance of its Laplacian (a common measure of focus), of the part
// where it is highest, because a plain wall behind a sharp dog has none. Pure.

const TILES = 8;
// Of the tiles, the share that may be sharper than the one that counts.
const BEST = 0.1;
// Grey levels, squared. Our own convention, from pictures blurred by us; it is advice, and blocks nothing.
const BLURRED = 40;

/** Whether a picture of `width` by `height` px, as bytes of red, green, blue and alpha, may be blurred. */
export const maybeBlurred = (pixels, width, height) => focus(pixels, width, height) < BLURRED;

/** The variance of the Laplacian in the sharpest tenth of the tiles; 0 for a picture too small to say. */
export function focus(pixels, width, height) {
  const grey = greyOf(pixels, width * height);
  const [across, down] = [Math.floor((width - 2) / TILES), Math.floor((height - 2) / TILES)];
  if (across < 2 || down < 2) return 0;
  const found = [];
  for (let y = 0; y < TILES; y += 1)
    for (let x = 0; x < TILES; x += 1)
      found.push(variance(grey, width, { left: 1 + x * across, top: 1 + y * down, across, down }));
  found.sort((one, other) => other - one);
  return found[Math.floor(found.length * BEST)];
}

// ITU-R BT.601 luma.
function greyOf(pixels, count) {
  const grey = new Float32Array(count);
  for (let at = 0, from = 0; at < count; at += 1, from += 4)
    grey[at] = 0.299 * pixels[from] + 0.587 * pixels[from + 1] + 0.114 * pixels[from + 2];
  return grey;
}

function variance(grey, width, { left, top, across, down }) {
  let sum = 0;
  let squares = 0;
  for (let y = top; y < top + down; y += 1) {
    for (let at = y * width + left; at < y * width + left + across; at += 1) {
      const bend = grey[at - 1] + grey[at + 1] + grey[at - width] + grey[at + width] - 4 * grey[at];
      sum += bend;
      squares += bend * bend;
    }
  }
  const mean = sum / (across * down);
  return squares / (across * down) - mean * mean;
}
