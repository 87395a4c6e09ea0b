// The phone's own store. A record and the change that made it are written in one transaction with
// strict durability, and a write is done when that transaction completes.
//
// records  {id, kind, about, values, cells}     what is so, as this phone knows it
// changes  {stamp, id, kind, record, field, value, base, device, state, reason}   what was done here
// packs    {dog, hash, pack}                     what the book computed for a dog
// meta     {key, value}                          device, clock, cursor, book, skew

import { problem } from "./core/check.js";
import { later, nodeOf, tick } from "./core/clock.js";
import { uuid7 } from "./core/ids.js";
import { apart, base, fold, restamp, value } from "./core/merge.js";

const NAME = "ringside";
const VERSION = 1;
// A clock that is found off by as much more (ms) is news; by less, it is the network's doing.
const SKEW_SHIFT = 60_000;
const OWNERS = ["dog", "walk", "entry", "breed"];
const listeners = new Set();
const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("ringside-store") : null;

let opening = null;
let connection = null;
let declared = null;

channel?.addEventListener("message", () => announce(false));

/** Call `heard()` after anything in the store has changed, here or in another window. */
export function onChange(heard) {
  listeners.add(heard);
  return () => listeners.delete(heard);
}

function announce(others = true) {
  for (const heard of listeners) heard();
  if (others) channel?.postMessage("changed");
}

// --- the database

function open() {
  opening ??= new Promise((resolve, reject) => {
    if (!globalThis.indexedDB) throw new DOMException("There is no store.", "SecurityError");
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => {
      const db = request.result;
      const records = db.createObjectStore("records", { keyPath: "id" });
      records.createIndex("kind", "kind");
      records.createIndex("about", "about");
      const changes = db.createObjectStore("changes", { keyPath: "stamp" });
      changes.createIndex("state", "state");
      db.createObjectStore("packs", { keyPath: "dog" });
      db.createObjectStore("meta", { keyPath: "key" });
    };
    request.onsuccess = () => {
      connection = request.result;
      connection.onversionchange = ({ target }) => forget(target);
      connection.onclose = ({ target }) => forget(target);
      resolve(connection);
    };
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new Error("Another window holds an older store; close it."));
  }).catch((error) => {
    opening = null;
    throw error;
  });
  return opening;
}

function forget(db) {
  db?.close();
  if (db === connection) opening = null;
}

const asked = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

// What a phone calls it when it has dropped the connection, before a transaction or under it.
const LOST = ["InvalidStateError", "UnknownError", "AbortError"];
const REFUSED = [...LOST, "SecurityError", "NotAllowedError"];

/** Run `work(tx)` in one transaction and wait until it is complete. A lost connection is
    opened again once: phones drop it while the app is in the background. */
async function within(stores, mode, work, durability = "strict") {
  for (let attempt = 0; ; attempt += 1) {
    let db;
    try {
      db = await open();
      const tx = db.transaction(stores, mode, { durability });
      const complete = new Promise((resolve, reject) => {
        tx.oncomplete = resolve;
        tx.onabort = () => reject(tx.error ?? new DOMException("The store gave up.", "AbortError"));
      });
      let result;
      try {
        result = await work(tx);
      } catch (error) {
        complete.catch(() => {});
        try {
          tx.abort();
        } catch {
          // It was gone already.
        }
        // When the transaction gave up first, its requests only say so: the reason is its own.
        throw tx.error ?? error;
      }
      await complete;
      return result;
    } catch (error) {
      if (!LOST.includes(error?.name) || attempt > 0) throw worded(error, db);
      forget(db);
    }
  }
}

/** The same error in words that say what to do. `db` is missing if there was no opening it. */
function worded(error, db) {
  const say = (words) => new DOMException(words, error.name);
  if (error?.name === "QuotaExceededError") return say("This phone has no room left. Free some space.");
  if (!REFUSED.includes(error?.name)) return error;
  if (db) return say("The phone closed its store. Close Ringside and open it again.");
  return say("This browser refuses to keep data. Leave private browsing, or allow site data for this address.");
}

const getMeta = async (tx, key) => (await asked(tx.objectStore("meta").get(key)))?.value;
const putMeta = (tx, key, kept) => tx.objectStore("meta").put({ key, value: kept });

// --- reading

const shownOf = (rows) => rows.filter((row) => !row.values.deleted);

export const byKind = async (kind) => shownOf(await readIndex("kind", kind));
export const byAbout = async (about) => shownOf(await readIndex("about", about));
export const deleted = async () =>
  (await within(["records"], "readonly", (tx) => asked(tx.objectStore("records").getAll()))).filter(
    (row) => row.values.deleted,
  );
export const get = (id) => within(["records"], "readonly", (tx) => asked(tx.objectStore("records").get(id)));

const readIndex = (index, key) =>
  within(["records"], "readonly", (tx) => asked(tx.objectStore("records").index(index).getAll(key)));

export const pack = async (dog) =>
  (await within(["packs"], "readonly", (tx) => asked(tx.objectStore("packs").get(dog))))?.pack;

/** What the sync and the settings tell of the store's state. */
export async function status() {
  return within(["changes", "meta"], "readonly", async (tx) => {
    const states = tx.objectStore("changes").index("state");
    const [waiting, refused, synced, skew, foreign, out] = await Promise.all([
      asked(states.count("unsent")),
      asked(states.getAll("refused")),
      getMeta(tx, "synced"),
      getMeta(tx, "skew"),
      getMeta(tx, "foreign"),
      getMeta(tx, "out"),
    ]);
    return { waiting, refused, synced, skew: skew ?? 0, foreign, out };
  });
}

/** All texts that were written apart: [{row, field, texts: {stamp: text}}]. */
export async function textsApart() {
  const rows = await within(["records"], "readonly", (tx) => asked(tx.objectStore("records").getAll()));
  return shownOf(rows).flatMap((row) =>
    Object.entries(row.cells)
      .filter(([, cell]) => Object.keys(apart(cell)).length > 0)
      .map(([field, cell]) => ({ row, field, texts: apart(cell) })),
  );
}

// --- writing

/** Tell the store what the book declared of the fields: {kind: {field: declaration}}. */
export function declare(fields) {
  declared = fields;
}

function declarationOf(kind, field) {
  if (!declared) throw new Error("The store was used before it knew the fields.");
  return declared[kind]?.[field];
}

const isText = (kind, field) => declarationOf(kind, field)?.type === "text";

/** Throws, in words, if the book would not keep `wanted`. */
function check(kind, field, wanted) {
  const known = declarationOf(kind, field);
  const reason = known ? problem(known, wanted) : "is not a field of the book";
  if (reason) throw new Error(`The ${field} ${reason}.`);
}

/** Set fields of a record (a new one if `id` is null). Returns the id once it is safely kept. */
export const write = async (kind, id, values) => (await writeAll([{ kind, id, values }]))[0];

/** Write several records in one transaction: all are kept, or none. Returns their ids. */
export async function writeAll(writes) {
  const ids = await within(["records", "changes", "meta"], "readwrite", async (tx) => {
    const records = tx.objectStore("records");
    const device = (await getMeta(tx, "device")) ?? uuid7();
    const now = Date.now() + ((await getMeta(tx, "skew")) ?? 0);
    let clock = (await getMeta(tx, "clock")) ?? "";
    const written = [];
    for (const { kind, id, values } of writes) {
      const row = (id && (await asked(records.get(id)))) || blank(kind, id ?? uuid7());
      for (const [field, wanted] of Object.entries(values)) {
        if (field in row.values && same(row.values[field], wanted) && !hasApart(row, field)) continue;
        clock = tick(clock, now, nodeOf(device));
        check(kind, field, wanted);
        const replaced = await baseOf(tx, row.cells[field]);
        const change = {
          id: uuid7(),
          kind,
          record: row.id,
          field,
          value: wanted,
          stamp: clock,
          base: replaced,
          device,
        };
        tx.objectStore("changes").put({ ...change, state: "unsent" });
        await mend(tx, row.id, field, clock);
        foldInto(row, change);
      }
      records.put(row);
      written.push(row.id);
    }
    putMeta(tx, "device", device);
    putMeta(tx, "clock", clock);
    return written;
  });
  announce();
  return ids;
}

/** What an edit replaces, as the book can know it: for a value it refused, what that one replaced. */
async function baseOf(tx, cell) {
  const changes = tx.objectStore("changes");
  const parts = await Promise.all(
    base(cell)
      .split(" ")
      .filter(Boolean)
      .map(async (stamp) => {
        const change = await asked(changes.get(stamp));
        return ["refused", "mended"].includes(change?.state) ? change.base : stamp;
      }),
  );
  return parts.filter(Boolean).join(" ");
}

const hasApart = (row, field) => Object.keys(apart(row.cells[field])).length > 0;

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);
const blank = (kind, id) => ({ id, kind, about: "", values: {}, cells: {} });

function foldInto(row, change) {
  const cell = fold(row.cells[change.field], change.stamp, change.base, change.value, isText(row.kind, change.field));
  row.cells[change.field] = cell;
  show(row, change.field);
}

function show(row, field) {
  row.values[field] = value(row.cells[field]);
  row.about = OWNERS.map((owner) => row.values[owner]).find(Boolean) ?? "";
  if (row.kind === "dog") row.about = "";
}

/** A refused change is mended by writing its field anew. */
async function mend(tx, record, field, stamp) {
  const changes = tx.objectStore("changes");
  for (const change of await asked(changes.index("state").getAll("refused"))) {
    if (change.record === record && change.field === field && change.stamp < stamp) {
      changes.put({ ...change, state: "mended" });
    }
  }
}

/** Take a refused change off the list: the person has seen why and lets it be. */
export async function letGo(stamp) {
  await within(["changes"], "readwrite", async (tx) => {
    const changes = tx.objectStore("changes");
    const change = await asked(changes.get(stamp));
    if (change) changes.put({ ...change, state: "mended" });
  });
  announce();
}

// --- syncing

async function deviceOf(tx) {
  const known = await getMeta(tx, "device");
  const device = known ?? uuid7();
  if (!known) putMeta(tx, "device", device);
  return device;
}

/** What to send: {device, book, cursor, changes, packs}. At most `most` changes or `bytes`, and
    none to a book that this phone does not know. */
export async function outgoing(most, bytes) {
  return within(["changes", "meta", "packs"], "readwrite", async (tx) => {
    const device = await deviceOf(tx);
    const states = tx.objectStore("changes").index("state");
    const waiting = (await getMeta(tx, "foreign")) ? [] : await asked(states.getAll("unsent", most));
    const changes = [];
    let size = 0;
    for (const { state, reason, ...change } of waiting) {
      size += JSON.stringify(change).length;
      if (changes.length && size > bytes) break;
      changes.push(change);
    }
    const waitingInAll = await asked(states.count("unsent"));
    return {
      device,
      book: (await getMeta(tx, "book")) ?? "",
      cursor: (await getMeta(tx, "cursor")) ?? "",
      changes,
      more: waitingInAll > changes.length,
      packs: (await getMeta(tx, "packs")) ?? "",
    };
  });
}

/** {dog: hash} of the packs held. */
export async function packHashes() {
  const rows = await within(["packs"], "readonly", (tx) => asked(tx.objectStore("packs").getAll()));
  return Object.fromEntries(rows.map((row) => [row.dog, row.hash]));
}

/** Take in an answer of the book; all of it or nothing. */
export async function incoming(answer, skew) {
  const moved = await within(
    ["records", "changes", "packs", "meta"],
    "readwrite",
    async (tx) => {
      const isOff = Math.abs(((await getMeta(tx, "skew")) ?? 0) - skew) > SKEW_SHIFT;
      const news = isOff || (await getMeta(tx, "foreign")) || (await getMeta(tx, "out")) || answer.anew;
      if (answer.anew) await sendAllAgain(tx);
      await settle(tx, answer);
      await fromOthers(tx, answer.changes);
      takePacks(tx, answer.packs);
      putMeta(tx, "book", answer.book);
      putMeta(tx, "cursor", answer.cursor);
      putMeta(tx, "skew", skew);
      putMeta(tx, "foreign", null);
      putMeta(tx, "out", null);
      if (!answer.more) putMeta(tx, "synced", new Date().toISOString());
      return (
        news ||
        answer.changes.length > 0 ||
        answer.taken.length > 0 ||
        answer.refused.length > 0 ||
        answer.packs?.hashes
      );
    },
    answer.taken.length || answer.refused.length ? "strict" : "relaxed",
  );
  if (moved) announce();
}

/** The book is a restored copy: what it had of ours may be gone, and a repeat does no harm. */
async function sendAllAgain(tx) {
  const changes = tx.objectStore("changes");
  for (const change of await asked(changes.index("state").getAll("sent"))) {
    changes.put({ ...change, state: "unsent" });
  }
}

async function settle(tx, { taken, refused, restamped }) {
  const reasons = new Map(refused.map(({ id, reason }) => [id, reason]));
  const known = new Set(taken);
  if (!known.size && !reasons.size) return;
  const changes = tx.objectStore("changes");
  const states = changes.index("state");
  const renamed = new Map();
  for (const change of await asked(states.getAll("unsent"))) {
    const raw = change.stamp;
    const built = change.base
      .split(" ")
      .map((stamp) => renamed.get(stamp) ?? stamp)
      .filter(Boolean)
      .join(" ");
    if (known.has(change.id)) {
      // Kept under its true stamp: a restored book must get it as the others know it.
      const settled = { ...change, base: built, stamp: restamped[change.id] ?? raw, state: "sent" };
      if (settled.stamp !== raw) {
        changes.delete(raw);
        renamed.set(raw, settled.stamp);
        await renameIn(tx, settled, raw);
      }
      changes.put(settled);
    } else if (reasons.has(change.id)) {
      changes.put({ ...change, base: built, state: "refused", reason: reasons.get(change.id) });
      renamed.set(raw, built);
    } else if (built !== change.base) {
      changes.put({ ...change, base: built });
    }
  }
  if (!Object.keys(restamped).length) return;
  // Our clock ran ahead and was put right: go on from what is really the newest.
  const open = (await Promise.all(["unsent", "refused"].map((state) => asked(states.getAll(state))))).flat();
  putMeta(tx, "clock", [...Object.values(restamped), ...open.map((change) => change.stamp)].reduce(later));
}

async function renameIn(tx, change, raw) {
  const records = tx.objectStore("records");
  const row = await asked(records.get(change.record));
  if (!row?.cells[change.field]) return;
  row.cells[change.field] = restamp(row.cells[change.field], raw, change.stamp);
  foldInto(row, change);
  records.put(row);
}

async function fromOthers(tx, arrived) {
  if (!arrived.length) return;
  const records = tx.objectStore("records");
  const rows = new Map();
  let clock = (await getMeta(tx, "clock")) ?? "";
  for (const change of arrived) {
    if (!rows.has(change.record)) {
      rows.set(change.record, (await asked(records.get(change.record))) ?? blank(change.kind, change.record));
    }
    foldInto(rows.get(change.record), change);
    clock = later(clock, change.stamp);
  }
  for (const row of rows.values()) records.put(row);
  putMeta(tx, "clock", clock);
}

function takePacks(tx, offered) {
  if (!offered?.hashes) return;
  const packs = tx.objectStore("packs");
  for (const [dog, made] of Object.entries(offered.packs)) packs.put({ dog, hash: offered.hashes[dog], pack: made });
  putMeta(tx, "packs", offered.whole);
}

/** The server keeps another book: remember it, and send nothing until the person has chosen. */
export const meetForeign = () => note("foreign", true);

/** The book does not let this phone in: why ("not-paired" or "revoked"), or null if it does. */
export const keptOut = (why) => note("out", why);

async function note(key, kept) {
  const isNew = await within(["meta"], "readwrite", async (tx) => {
    const known = (await getMeta(tx, key)) ?? null;
    if (known !== kept) putMeta(tx, key, kept);
    return known !== kept;
  });
  if (isNew) announce();
}

/** Whether nothing was ever written here, nor received. */
export const isNew = () =>
  within(
    ["records", "meta"],
    "readonly",
    async (tx) => !(await getMeta(tx, "synced")) && (await asked(tx.objectStore("records").count())) === 0,
  );

/** Receive the whole book again, from its first change. Gives the id of this phone. */
export const startOver = () =>
  within(["meta"], "readwrite", async (tx) => {
    putMeta(tx, "cursor", "");
    return deviceOf(tx);
  });

/** Join the book the server keeps now, with everything this phone wrote. */
export async function joinBook() {
  await within(["changes", "meta"], "readwrite", async (tx) => {
    await sendAllAgain(tx);
    putMeta(tx, "book", "");
    putMeta(tx, "cursor", "");
    putMeta(tx, "foreign", null);
  });
  announce();
}

/** Everything this phone holds, as plain data, for a copy in the person's own hands. */
export async function everything() {
  return within(["records", "changes", "meta"], "readonly", async (tx) => {
    const [records, changes, meta] = await Promise.all(
      ["records", "changes", "meta"].map((store) => asked(tx.objectStore(store).getAll())),
    );
    return { records, changes, meta };
  });
}
