// A dog's portrait in the place of its drawing. Photos are loaded for the dogs that have one.

// The addresses last as long as the window: an image that is put into another page is read anew.
const portraits = new Map();

/** A dog's portrait in `place`, if it is to be had. */
export async function putPortrait(place, sha256) {
  if (!portraits.has(sha256)) {
    const { pictureOf } = await import("../photos.js");
    const blob = await pictureOf({ sha256, copy: true });
    if (!blob) return;
    portraits.set(sha256, URL.createObjectURL(blob));
  }
  const image = new Image();
  image.className = "portrait";
  image.alt = "";
  image.decoding = "sync"; // else it would flicker whenever the page is drawn anew
  image.src = portraits.get(sha256);
  place.replaceChildren(image);
}
