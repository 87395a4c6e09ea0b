// Databases: one connection each, transactions that wait until they are complete, and failures in
// words. What is in ours (photos have one of their own, pixels.js):
//
// rows     {kind, id, ...}                       what is so, as this phone knows it (core/rows.js)
// sums     {kind, owner, count}                  kept up with the rows, so that nobody counts them; and
//                                                what the marks of a station come to (standings.js)
// changes  {stamp, id, kind, record, field, value, base, device, state, reason}   what was done here
// parked   changes of others that another version of the app will know
// packs    {kind, id, hash, pack}                what the book computed of a record
// stale    {kind, id}                            packs made before something was written here
// meta     {key, value}                          device, clock, cursor, book, skew, kinds, drafts

// What a phone calls it when it has dropped the connection, before a transaction or under it.
const LOST = ["InvalidStateError", "UnknownError", "AbortError"];
const REFUSED = [...LOST, "SecurityError", "NotAllowedError"];

/** Whether an error says that the connection is gone. */
export const isLost = (error) => LOST.includes(error?.name);

/** Whether an error says that the phone is full. */
export const isForRoom = (error) => error?.name === "QuotaExceededError";

/** Run `work(tx)` in one transaction, and wait until what it writes is complete. */
export const transact = database("ringside", 2, upgrade);

/** The way into a database, which is opened when it is first used: a function as `transact`. A lost
    connection is opened again once: phones drop it while the app is in the background. */
export function database(name, version, upgraded) {
  let opening = null;
  let connection = null;

  function open() {
    opening ??= new Promise((resolve, reject) => {
      if (!globalThis.indexedDB) throw new DOMException("There is no store.", "SecurityError");
      const request = indexedDB.open(name, version);
      request.onupgradeneeded = ({ oldVersion }) => upgraded(request.result, request.transaction, oldVersion);
      request.onsuccess = () => {
        connection = request.result;
        connection.onversionchange = ({ target }) => forget(target);
        connection.onclose = ({ target }) => forget(target);
        resolve(connection);
      };
      request.onerror = () => reject(request.error);
      request.onblocked = () =>
        reject(new Error("Ringside is open in another window. Close that one and open Ringside again."));
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

  return async (stores, mode, work, durability = "strict") => {
    for (let attempt = 0; ; attempt += 1) {
      let db;
      try {
        db = await open();
        return await inOne(db.transaction(stores, mode, { durability }), work);
      } catch (error) {
        if (!isLost(error) || attempt > 0) throw worded(error, db);
        forget(db);
      }
    }
  };
}

/** Versions only add: an older app must be able to go on with what a newer one made. */
function upgrade(db, tx, oldVersion) {
  if (oldVersion < 1) {
    const changes = db.createObjectStore("changes", { keyPath: "stamp" });
    changes.createIndex("state", "state");
    db.createObjectStore("meta", { keyPath: "key" });
  }
  const rows = db.createObjectStore("rows", { keyPath: ["kind", "id"] });
  rows.createIndex("places", "places", { multiEntry: true });
  rows.createIndex("removed", "removed");
  rows.createIndex("apart", "apart");
  db.createObjectStore("sums", { keyPath: ["kind", "owner"] });
  db.createObjectStore("parked", { keyPath: "id" });
  db.createObjectStore("stale", { keyPath: ["kind", "id"] });
  if (oldVersion === 1) takeOver(db, tx, rows);
  db.createObjectStore("packs", { keyPath: ["kind", "id"] });
}

/** The first version had a store of records by id, and packs of dogs alone. */
function takeOver(db, tx, rows) {
  db.deleteObjectStore("packs");
  tx.objectStore("meta").delete("packs");
  tx.objectStore("records").openCursor().onsuccess = ({ target: { result: cursor } }) => {
    if (!cursor) return db.deleteObjectStore("records");
    const { kind, id, cells, values } = cursor.value;
    rows.put({ kind, id, cells, values });
    return cursor.continue();
  };
}

export const asked = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

async function inOne(tx, work) {
  const complete = new Promise((resolve, reject) => {
    tx.oncomplete = resolve;
    tx.onabort = () => reject(tx.error ?? new DOMException("The phone could not save this.", "AbortError"));
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
  // What was read is here: only what was written has to be waited for.
  if (tx.mode === "readonly") complete.catch(() => {});
  else await complete;
  return result;
}

/** The same error in words that say what to do. `db` is missing if there was no opening it. */
function worded(error, db) {
  const say = (words) => new DOMException(words, error.name);
  if (isForRoom(error)) return say("This phone is full. Free some space and try again.");
  if (!REFUSED.includes(error?.name)) return error;
  if (db) return say("The phone closed Ringside's data. Close Ringside and open it again.");
  return say(
    "This browser does not let Ringside save anything. Leave private browsing, or allow site data for this address.",
  );
}

export const getMeta = async (tx, key) => (await asked(tx.objectStore("meta").get(key)))?.value;
export const putMeta = (tx, key, kept) => tx.objectStore("meta").put({ key, value: kept });

/** Everything that begins with `parts`, where keys are lists. */
export const beginning = (...parts) => IDBKeyRange.bound(parts, [...parts, []]);
