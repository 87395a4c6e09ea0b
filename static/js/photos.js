// Photos between this phone and the book. What is not here is asked for when it is looked at; after a sync
// those go out that the person said to copy, and the portraits come in that this phone lacks.

import { addDays } from "./core/days.js";
import { localDay } from "./core/words.js";
import * as store from "./store.js";
import { announce } from "./store/news.js";
import { bookNow, dropPixels, keepPixels, nameOf, pixelsKept, pixelsOf, tell, toldOf } from "./store/pixels.js";
import { photoWay } from "./syncstate.js";

const TYPE = "image/jpeg";
// What nothing refers to any more stays so many days, for whoever brings a removed photo back.
const LOOSE_DAYS = 30;
// A portrait that the book has not got is asked for again after so long (ms).
const ASK_AGAIN = 10 * 60_000;

const asking = new Map();
const lacking = new Map();

/** The picture of a photo, a row or {sha256}, from this phone or else from the book; null where neither has it. */
export async function pictureOf(photo) {
  const { sha256 } = photo.values ?? photo;
  if (!sha256) return null;
  if (!asking.has(sha256))
    asking.set(
      sha256,
      found(sha256).finally(() => asking.delete(sha256)),
    );
  const bytes = await asking.get(sha256);
  return bytes && new Blob([bytes], { type: TYPE });
}

// A store that does not open hides what the book may have: the one is no reason not to ask the other.
const found = async (sha256) => (await pixelsOf(sha256).catch(() => null)) ?? fetched(sha256);

async function fetched(sha256) {
  const answer = await photoWay()
    ?.get(sha256)
    .catch(() => null);
  const bytes = answer?.bytes;
  if (!bytes || (await nameOf(bytes).catch(() => "")) !== sha256) return null;
  await keepPixels(bytes).catch(console.warn);
  return bytes;
}

/** How a photo stands: {isHere, isInBook, refused}, the last what the book said against it. */
export async function standingOf({ values: { sha256 } }) {
  const [kept, told, book] = await Promise.all([pixelsKept(), toldOf(sha256), bookNow()]);
  const isOfBook = told.book === book;
  return {
    isHere: kept.includes(sha256),
    isInBook: isOfBook && !told.refused,
    refused: isOfBook ? (told.refused ?? "") : "",
  };
}

/** Whether a photo is to be in the book is said anew: what was sent before says nothing any more. */
export const sayAnew = (sha256) => tell(sha256, { book: null, refused: null });

/** After a sync, in one window at a time. What is cut off is done again after the next one. */
export const exchangePhotos = () =>
  navigator.locks
    ? navigator.locks.request("ringside-photos", { ifAvailable: true }, (lock) => (lock ? exchange() : null))
    : exchange();

async function exchange() {
  const { photos, portraits } = await referredTo();
  const kept = new Set(await pixelsKept());
  await sendAll(photos.filter(({ copy, sha256 }) => copy && kept.has(sha256)));
  await fetchAll(portraits.filter((sha256) => !kept.has(sha256)));
  await tidy(kept, new Set([...photos.map(({ sha256 }) => sha256), ...portraits]));
}

/** {photos, portraits}: the values of all photos, and the SHA-256 of all portraits. */
async function referredTo() {
  const dogs = await store.all("dog");
  const rows = await Promise.all(dogs.map(({ id }) => store.about("photo", id)));
  const photos = rows.flat().map(({ values }) => values);
  return { photos, portraits: dogs.map(({ values }) => values.portrait).filter(Boolean) };
}

async function sendAll(photos) {
  const book = await bookNow();
  for (const { sha256 } of photos) {
    const told = await toldOf(sha256);
    if (told.book === book) continue;
    const answer = await photoWay().put(sha256, await pixelsOf(sha256));
    if (answer.ok) await tell(sha256, { book, refused: null });
    else if (isForGood(answer)) await tell(sha256, { book, refused: answer.body?.message ?? "It did not say why." });
    else if (answer.status !== 409) return; // one that the book does not know yet goes after the next sync
  }
}

// What would get the same answer again: too large, not a photo, one that tells more than its pixels.
const isForGood = ({ status, body }) => [400, 413, 415, 422].includes(status) && body?.code !== "csrf";

async function fetchAll(portraits) {
  const now = performance.now();
  for (const sha256 of portraits) {
    if (now - (lacking.get(sha256) ?? -ASK_AGAIN) < ASK_AGAIN) continue;
    if (await fetched(sha256)) announce();
    else lacking.set(sha256, now);
  }
}

/** Let what nothing refers to go, once that was so for long enough. */
async function tidy(kept, wanted) {
  const today = localDay();
  for (const sha256 of kept) {
    const { loose } = await toldOf(sha256);
    if (wanted.has(sha256)) {
      if (loose) await tell(sha256, { loose: null });
    } else if (!loose) await tell(sha256, { loose: today });
    else if (addDays(loose, LOOSE_DAYS) < today) await dropPixels(sha256);
  }
}
