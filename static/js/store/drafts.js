// Drafts: what was typed and is not saved. They stay on this phone as rows of `meta`, are synced to
// nobody, and wait for as long as it takes.

import { getMeta, putMeta } from "./db.js";
import { within } from "./ready.js";

const named = (key) => `draft ${key}`;

/** What was typed under `key` and not saved: {at, values: {name: as typed}}, or null. */
export const draft = async (key) => (await within(["meta"], "readonly", (tx) => getMeta(tx, named(key)))) ?? null;

/** Keep what was typed. It need not outlive a dead battery, so that typing waits for no disk. */
export const putDraft = (key, values) =>
  within(["meta"], "readwrite", (tx) => putMeta(tx, named(key), { at: new Date().toISOString(), values }), "relaxed");

export const dropDraft = (key) =>
  within(["meta"], "readwrite", (tx) => tx.objectStore("meta").delete(named(key)), "relaxed");
