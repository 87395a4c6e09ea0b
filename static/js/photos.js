// Photos between this phone and the book. What is not here is asked for when it is looked at; after a sync
// those go out that the person said to copy, and the portraits come in that this phone lacks.

import { addDays } from "./core/days.js";
import { localDay } from "./core/words.js";
import * as store from "./store.js";
import { announce } from "./store/news.js";
import {
  bookNow,
  dropPixels,
  keepPixels,
  nameOf,
  pixelsKept,
  pixelsOf,
  tell,
  toldAll,
  toldOf,
} from "./store/pixels.js";
import { photoWay } from "./syncstate.js";

const TYPE = "image/jpeg";
const NAME = /^[0-9a-f]{64}$/;
// What nothing refers to any more stays so many days, for whoever brings a removed photo back.
const LOOSE_DAYS = 30;
// What the book has not got is asked for again after so long (ms).
const ASK_AGAIN = 10 * 60_000;

const asking = new Map();
const lacking = new Map();

/** The picture of a photo, a row or its values, from this phone, or from the book if it is copied there;
    null where neither has it. */
export async function pictureOf(photo) {
  const { sha256, copy } = photo.values ?? photo;
  if (!NAME.test(sha256)) return null;
  // A store that does not open hides what the book may have: the one is no reason not to ask the other.
  const bytes = (await pixelsOf(sha256).catch(() => null)) ?? (copy ? await askedOnce(sha256) : null);
  return bytes && new Blob([bytes], { type: TYPE });
}

/** Two places of a screen may show one picture: it comes once. */
async function askedOnce(sha256) {
  if (!asking.has(sha256)) asking.set(sha256, fetched(sha256));
  try {
    return await asking.get(sha256);
  } finally {
    asking.delete(sha256);
  }
}

async function fetched(sha256) {
  const way = photoWay();
  if (!way || performance.now() < (lacking.get(sha256) ?? 0)) return null;
  const { status = 0, bytes = null } = await way.get(sha256).catch(() => ({}));
  if (status === 404) lacking.set(sha256, performance.now() + ASK_AGAIN);
  if (!bytes || (await nameOf(bytes).catch(() => "")) !== sha256) return null;
  try {
    await keepPixels(bytes);
    await tell(sha256, { book: await bookNow(), refused: null });
    announce();
  } catch (error) {
    console.warn(error);
  }
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

/** Whether a photo is to be in the book is said again: what was sent before says nothing any more. */
export const saidAgain = (sha256) => tell(sha256, { book: null, refused: null });

/** After a sync, in one window at a time. What is cut off is done again after the next one. */
export const exchangePhotos = () =>
  navigator.locks
    ? navigator.locks.request("ringside-photos", { ifAvailable: true }, (lock) => (lock ? exchange() : null))
    : exchange();

/** Where there was never a photo, the database of photos is not opened. */
async function exchange() {
  const [rows, portraits] = await Promise.all([store.every("photo"), portraitsOfDogs()]);
  if (!rows.length && !portraits.length) return;
  const photos = rows.map(({ values }) => values).filter(({ deleted }) => !deleted);
  const [names, told] = await Promise.all([pixelsKept(), toldAll()]);
  const kept = new Set(names);
  const copied = photos.filter(({ copy, sha256 }) => copy && kept.has(sha256));
  await sendAll(new Set(copied.map(({ sha256 }) => sha256)), told);
  for (const sha256 of portraits) if (!kept.has(sha256) && (await askedOnce(sha256))) announce();
  await tidy(kept, new Set([...photos.map(({ sha256 }) => sha256), ...portraits]), told);
}

const portraitsOfDogs = async () =>
  (await store.all("dog")).map(({ values }) => values.portrait).filter((sha256) => NAME.test(sha256));

async function sendAll(names, told) {
  const book = await bookNow();
  for (const sha256 of names) {
    if (told.get(sha256)?.book === book) continue;
    const answer = await photoWay().put(sha256, await pixelsOf(sha256));
    // One that the book does not know yet goes after the next sync.
    if (answer.status === 409) continue;
    if (!answer.ok && !isForGood(answer)) return;
    await tell(sha256, { book, refused: answer.ok ? null : (answer.body?.message ?? "It did not say why.") });
    announce();
  }
}

// What would get the same answer again: too large, not a photo, one that tells more than its pixels.
const isForGood = ({ status, body }) => [400, 413, 415, 422].includes(status) && body?.code !== "csrf";

/** Let what nothing refers to go, once that was so for long enough. */
async function tidy(kept, wanted, told) {
  const today = localDay();
  for (const sha256 of kept) {
    const loose = told.get(sha256)?.loose;
    if (wanted.has(sha256)) {
      if (loose) await tell(sha256, { loose: null });
    } else if (!loose) await tell(sha256, { loose: today });
    else if (addDays(loose, LOOSE_DAYS) < today) await dropPixels(sha256);
  }
}
