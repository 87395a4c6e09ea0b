// Photos as bytes, found by their SHA-256, in a database of their own that is opened when one is used:
// they are no part of the log of changes, and leave this phone only where the person said so.
//
// pixels  by sha256: an ArrayBuffer
// told    by sha256: {book, refused} of what was sent; {loose} since when nothing refers to it

import { asked, database, getMeta } from "./db.js";
import { within } from "./ready.js";

const transact = database("ringside-photos", 1, (db) => {
  db.createObjectStore("pixels");
  db.createObjectStore("told");
});

/** SHA-256 of `bytes`, in hex. */
export async function nameOf(bytes) {
  if (!globalThis.crypto?.subtle)
    throw new Error("Photos need a secure address. Open Ringside at an address that begins with https.");
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Keep the bytes of a photo; gives their SHA-256 once they are safe. */
export async function keepPixels(bytes) {
  const sha256 = await nameOf(bytes);
  await transact(["pixels"], "readwrite", (tx) => asked(tx.objectStore("pixels").put(bytes, sha256)));
  return sha256;
}

/** The bytes of a photo, or null where this phone has them not. */
export const pixelsOf = (sha256) =>
  transact(["pixels"], "readonly", async (tx) => (await asked(tx.objectStore("pixels").get(sha256 ?? ""))) ?? null);

export const dropPixels = (sha256) =>
  transact(["pixels", "told"], "readwrite", (tx) => {
    for (const store of ["pixels", "told"]) tx.objectStore(store).delete(sha256);
  });

/** The SHA-256 of each photo that is here. */
export const pixelsKept = () => transact(["pixels"], "readonly", (tx) => asked(tx.objectStore("pixels").getAllKeys()));

/** What is remembered of a photo: {} or more. */
export const toldOf = (sha256) =>
  transact(["told"], "readonly", async (tx) => (await asked(tx.objectStore("told").get(sha256 ?? ""))) ?? {});

/** What is remembered of all photos: Map {sha256: {...}}. */
export const toldAll = () =>
  transact(["told"], "readonly", async (tx) => {
    const told = tx.objectStore("told");
    const [names, all] = await Promise.all([asked(told.getAllKeys()), asked(told.getAll())]);
    return new Map(names.map((name, place) => [name, all[place]]));
  });

/** Remember `news` of a photo, beside what is known of it. */
export const tell = (sha256, news) =>
  transact(["told"], "readwrite", async (tx) => {
    const store = tx.objectStore("told");
    store.put({ ...(await asked(store.get(sha256))), ...news }, sha256);
  });

/** Which book this phone is in: another name for another one, and for one that was restored. */
export const bookNow = () =>
  within(["meta"], "readonly", async (tx) => {
    const [book = "", anews = 0] = await Promise.all(["book", "anews"].map((key) => getMeta(tx, key)));
    return `${book} ${anews}`;
  });
