// Reading. Nothing here goes through all there is: rows are found by kind and owner, and of many
// only the newest are read.

import { ms } from "../core/clock.js";
import { apart } from "../core/merge.js";
import { groupKey } from "../core/rows.js";
import { kinds } from "../shipped.js";
import { asked, beginning, getMeta, isForRoom } from "./db.js";
import { within } from "./ready.js";
import { kept, reckoned } from "./standings.js";

/** The row of a record, also of a removed one. A half record leads to none: its `id` is missing. */
export const get = (kind, id) =>
  within(["rows"], "readonly", (tx) => asked(tx.objectStore("rows").get([kind, id ?? ""])));

/** The rows of a kind that are about nothing, such as all dogs, in their order. */
export const all = (kind) => about(kind, "");

/** The rows of a kind about one owner (or found by it), in their order, the newest last. */
export const about = (kind, owner) =>
  within(["rows"], "readonly", (tx) => asked(places(tx).getAll(beginning(kind, owner))));

/** The rows of a kind from one place of its order on, such as shows from a day. */
export const from = (kind, owner, start) =>
  within(["rows"], "readonly", (tx) =>
    asked(places(tx).getAll(IDBKeyRange.bound([kind, owner, start], [kind, owner, []]))),
  );

/** The rows of a kind that lack what their order begins with, such as shows without a day. */
export const unordered = (kind, owner) =>
  within(["rows"], "readonly", (tx) =>
    asked(places(tx).getAll(IDBKeyRange.bound([kind, owner, " "], [kind, owner, "!"]))),
  );

/** The newest rows of a kind about one owner, newest first: of those before `end`, a row of them or a
    place of their order such as a day, and of those only the `wanted` ones. */
export const newest = (kind, owner, most, end = null, wanted = isAny) =>
  within(["rows"], "readonly", (tx) => backwards(places(tx), before(kind, owner, end), most, wanted));

function before(kind, owner, end) {
  if (!end) return beginning(kind, owner);
  const order = end.places?.find(([, of]) => of === owner)[2] ?? end;
  return IDBKeyRange.bound([kind, owner], [kind, owner, order], false, true);
}

/** The newest row for each of `groups`, values of what the kind is told apart by: Map {group: row}. */
export const newestBy = (kind, owner, groups) =>
  within(["rows"], "readonly", async (tx) => {
    const found = await Promise.all(
      groups.map((group) => backwards(places(tx), beginning(kind, groupKey(owner, group)), 1)),
    );
    return new Map(groups.map((group, place) => [group, found[place][0]]).filter(([, row]) => row));
  });

/** The rows of several records of a kind, in the order of `ids`; undefined for what is not there. */
export const several = (kind, ids) =>
  within(["rows"], "readonly", (tx) => Promise.all(ids.map((id) => asked(tx.objectStore("rows").get([kind, id])))));

/** How many rows of a kind about each of `owners`, of those in order of a day, have theirs by the end of `day`. */
export const countUntil = (kind, owners, day) =>
  within(["rows"], "readonly", (tx) => {
    const until = (owner) => IDBKeyRange.bound([kind, owner, "0"], [kind, owner, `${day}!`]);
    return Promise.all(owners.map((owner) => asked(places(tx).count(until(owner)))));
  });

/** All rows of a kind, whatever they are about, and removed ones too. */
export const every = (kind) =>
  within(["rows"], "readonly", (tx) => asked(tx.objectStore("rows").getAll(beginning(kind))));

/** How many rows of a kind are about one owner. */
export const count = async (kind, owner) =>
  (await within(["sums"], "readonly", (tx) => asked(tx.objectStore("sums").get([kind, owner]))))?.count ?? 0;

/** What the marks of a dog come to at each of these stations: Map {station: sums} (core/practice.js). */
export async function standings(dog, stations) {
  const keys = stations.map((station) => groupKey(dog, station));
  let found = await within(["sums"], "readonly", (tx) => kept(tx, keys));
  if (found.some((one) => !one)) {
    const make = async (tx) => {
      const here = await kept(tx, keys);
      return Promise.all(here.map((one, place) => one ?? reckoned(tx, keys[place])));
    };
    found = await within(["rows", "sums"], "readwrite", make, "relaxed").catch((error) => {
      if (!isForRoom(error)) throw error;
      return within(["rows", "sums"], "readonly", make);
    });
  }
  return new Map(stations.map((station, place) => [station, found[place]]));
}

const places = (tx) => tx.objectStore("rows").index("places");

/** @type {(row: any) => boolean} */
const isAny = () => true;

function backwards(index, range, most, wanted = isAny) {
  const found = [];
  return new Promise((resolve, reject) => {
    const request = index.openCursor(range, "prev");
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const cursor = request.result;
      if (cursor && wanted(cursor.value)) found.push(cursor.value);
      if (!cursor || found.length >= most) resolve(found);
      else cursor.continue();
    };
  });
}

/** What was removed, the last removed first: of what was removed before the row `end`, the `wanted` rows. */
export const removed = (most, end, wanted) =>
  within(["rows"], "readonly", (tx) => {
    const range = end ? IDBKeyRange.upperBound(end.removed, true) : null;
    return backwards(tx.objectStore("rows").index("removed"), range, most, wanted);
  });

/** All texts that were written apart: [{row, field, texts: {stamp: text}}]. */
export async function textsApart() {
  const rows = await within(["rows"], "readonly", (tx) => asked(tx.objectStore("rows").index("apart").getAll()));
  if (!rows.length) return [];
  const declared = await kinds();
  // A newer version may have left some of a kind, or a field, that this one does not know.
  return rows.flatMap((row) =>
    Object.keys(declared[row.kind]?.fields ?? {})
      .map((field) => ({ row, field, texts: apart(row.cells[field]) }))
      .filter(({ texts }) => Object.keys(texts).length > 0),
  );
}

/** {pack, isStale} of what the book computed of a record; null if it has sent nothing yet. */
export const pack = (kind, id) =>
  within(["packs", "stale"], "readonly", async (tx) => {
    const [made, stale] = await Promise.all([
      asked(tx.objectStore("packs").get([kind, id])),
      asked(tx.objectStore("stale").get([kind, id])),
    ]);
    return made ? { pack: made.pack, isStale: Boolean(stale) } : null;
  });

// Of what waits, no more is counted: to a restored copy a phone sends all that it ever wrote.
export const MOST_COUNTED = 1_000;

/** What the sync and the settings tell of the store's state. `waiting` counts what the person did,
    which is written in one moment, and not the fields that it changed; it is over MOST_COUNTED where
    more fields than that wait. `since` is the first of it. */
export const status = () =>
  within(["changes", "meta"], "readonly", async (tx) => {
    const states = tx.objectStore("changes").index("state");
    const [unsent, refused, synced, skew, foreign, out] = await Promise.all([
      asked(states.getAllKeys("unsent", MOST_COUNTED + 1)),
      asked(states.getAll("refused")),
      getMeta(tx, "synced"),
      getMeta(tx, "skew"),
      getMeta(tx, "foreign"),
      getMeta(tx, "out"),
    ]);
    const waiting = unsent.length > MOST_COUNTED ? unsent.length : new Set(unsent.map(ms)).size;
    const since = unsent.length ? ms(unsent[0]) : null;
    return { waiting, since, refused, synced, skew: skew ?? 0, foreign, out };
  });

/** Whether nothing was ever written here, nor received. */
export const isNew = () =>
  within(
    ["rows", "meta"],
    "readonly",
    async (tx) =>
      !(await getMeta(tx, "synced")) &&
      (await asked(tx.objectStore("rows").getKey(IDBKeyRange.lowerBound([])))) === undefined,
  );

/** Everything this phone holds, as plain data, for a copy in the person's own hands. */
export const everything = () =>
  within(["rows", "changes", "parked", "meta"], "readonly", async (tx) => {
    const [records, changes, parked, meta] = await Promise.all(
      ["rows", "changes", "parked", "meta"].map((store) => asked(tx.objectStore(store).getAll())),
    );
    return { records, changes, parked, meta };
  });
