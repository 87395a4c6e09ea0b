// A photo that was taken and is not saved yet. Its pixels are safe before anything is asked, so that an app
// that is ended behind the camera loses nothing; what is known of it is a draft.

import { ago } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { dropPixels, keepPixels } from "../store/pixels.js";
import * as store from "../store.js";
import { photoOf } from "./photofile.js";

const named = (dog) => `shot ${dog}`;

/** What is answered about a photo is a draft by this name until it is saved. */
export const answersTo = ({ sha256 }) => `look ${sha256}`;

/** {at, values} of the photo of a dog that waits to be saved, or null. */
export const shotOf = (dog) => store.draft(named(dog));

/** Make a photo of a picture's file and keep it for `dog`, in the place of one that waits. Throws, in
    words, what cannot be had. */
export async function takeShot(dog, view, file) {
  const { bytes, ...facts } = await photoOf(file);
  const sha256 = await keepPixels(bytes);
  // So that the system does not clear it when the phone is full; a no changes nothing.
  navigator.storage?.persist?.().catch(() => {});
  const before = await shotOf(dog);
  await store.putDraft(named(dog), { view, sha256, bytes: bytes.byteLength, ...facts });
  if (before && before.values.sha256 !== sha256) await forget(dog, before.values);
}

export const shotSaved = (dog) => store.dropDraft(named(dog));

async function discardShot(dog) {
  const shot = await shotOf(dog);
  await store.dropDraft(named(dog));
  if (shot) await forget(dog, shot.values);
}

/** What tells that a photo of a dog waits, and leads to it or discards it. */
export function waitingNode(dog, { at, values }, words = "It is not saved yet.") {
  const node = fill(clone("shot-waiting"), { icon: icon("work"), words: `You took a photo ${ago(at)}. ${words}` });
  part(node, "go-on").href = `#/dog/${dog}/photo/${values.view}/look`;
  return on(node, "drop", async () => {
    await discardShot(dog);
    node.remove();
    say("Discarded.");
  });
}

/** Nobody can come back to it: it goes at once, unless the same picture was saved as a photo. */
async function forget(dog, { sha256 }) {
  await store.dropDraft(answersTo({ sha256 }));
  const saved = await store.about("photo", dog);
  if (!saved.some(({ values }) => values.sha256 === sha256)) await dropPixels(sha256);
}
