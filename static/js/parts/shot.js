// A photo that was taken and is not saved yet. Its pixels are safe before anything is asked, so that an app
// that is ended behind the camera loses nothing; what is known of it is a draft.

import { keepPixels } from "../store/pixels.js";
import * as store from "../store.js";
import { photoOf } from "./photofile.js";

const named = (dog) => `shot ${dog}`;

/** {at, values} of the photo of a dog that waits to be saved, or null. */
export const shotOf = (dog) => store.draft(named(dog));

/** Make a photo of a picture's file and keep it for `dog`. Throws, in words, what cannot be had. */
export async function takeShot(dog, view, file) {
  const { bytes, ...facts } = await photoOf(file);
  const sha256 = await keepPixels(bytes);
  // So that the system does not clear it when the phone is full; a no changes nothing.
  navigator.storage?.persist?.().catch(() => {});
  await store.putDraft(named(dog), { view, sha256, bytes: bytes.byteLength, ...facts });
}

/** It is saved, or not wanted: its pixels then go by themselves in time, as all that nothing refers to. */
export const dropShot = (dog) => store.dropDraft(named(dog));
