// A dog's portrait in the place of its drawing.

import { pictureOf } from "../photos.js";

const portraits = new Map();

/** A dog's portrait in `place`, if it is to be had. The same element again, so that nothing flickers. */
export async function putPortrait(place, sha256) {
  if (!portraits.has(sha256)) {
    const blob = await pictureOf({ sha256, copy: true });
    if (!blob) return;
    const image = new Image();
    image.className = "portrait";
    image.alt = "";
    load(image, blob);
    portraits.set(sha256, image);
  }
  place.replaceChildren(portraits.get(sha256));
}

/** Show a picture in an image, whose address then goes. */
export function load(image, blob) {
  const address = URL.createObjectURL(blob);
  for (const end of ["load", "error"]) image.addEventListener(end, () => URL.revokeObjectURL(address), { once: true });
  image.src = address;
}
