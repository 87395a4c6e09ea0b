// The edge of the back in a picture, as far as there is one: core/seam.js on the picture made small.

import { seam } from "../core/seam.js";

const WIDE = 1024; // px, as the seam knows the dog's outline best

/** What gives, for so many points evenly between `ends` (pixels of the picture), where the edge has them, on a
    line through the points `through`; null where the pixels cannot be read.
    @param {ImageBitmap} picture @param {number[][]} ends
    @returns {(count: number, through: number[][]) => number[][] | null} */
export function edgeOf(picture, ends) {
  const by = Math.min(1, WIDE / picture.width);
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [picture.width, picture.height].map((side) => Math.round(side * by));
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  if (!pen) return () => null;
  pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
  const small = (point) => point.map((one) => one * by);
  const edge = seam(pen.getImageData(0, 0, canvas.width, canvas.height), small(ends[0]), small(ends[1]));
  return (count, through) => {
    const found = edge(count, through.map(small));
    return found.length === count ? found.map((point) => point.map((one) => one / by)) : null;
  };
}
