// Before anything is read or written: the rows stand as this version of the app declares them.
// Another version may have left them otherwise, and changes parked that this one knows.

import { place } from "../core/rows.js";
import { kinds } from "../shipped.js";
import { asked, beginning, getMeta, isForRoom, isLost, putMeta, transact } from "./db.js";
import { ours, Recount, Rows, ROWS, shapeOf } from "./rows.js";

const AT_ONCE = 1_000;

let getting = null;
let isFull = false;

/** Wait until the store can be used. */
export function ready() {
  getting ??= getReady();
  getting.catch(() => (getting = null));
  return getting;
}

const isSettled = async () => (await transact(["meta"], "readonly", (tx) => getMeta(tx, "kinds"))) === ours();

async function getReady() {
  if (await isSettled()) return;
  const declared = await kinds();
  const work = async () => {
    if (!(await isSettled())) await settle(declared);
  };
  await (navigator.locks ? navigator.locks.request("ringside-settle", work) : work());
}

async function settle(declared) {
  const shapes = (await transact(["meta"], "readonly", (tx) => getMeta(tx, "shapes"))) ?? {};
  for (const [name, kind] of Object.entries(declared)) {
    if (shapes[name] !== shapeOf(kind)) await placeAll(name, kind);
  }
  await foldParked(declared);
  await transact(["meta"], "readwrite", (tx) => {
    putMeta(tx, "shapes", Object.fromEntries(Object.entries(declared).map(([name, kind]) => [name, shapeOf(kind)])));
    putMeta(tx, "kinds", ours());
  });
}

/** Put all rows of a kind in their places anew. Cut off at any point, it is simply done again. */
async function placeAll(name, kind) {
  await transact(["sums"], "readwrite", (tx) => tx.objectStore("sums").delete(beginning(name)));
  for (let after = [name]; after; ) {
    const from = after;
    after = await transact(["rows", "sums"], "readwrite", async (tx) => {
      const store = tx.objectStore("rows");
      const rows = await asked(store.getAll(IDBKeyRange.bound(from, [name, []], true), AT_ONCE));
      const recount = new Recount();
      for (const row of rows) {
        place(kind, row);
        recount.add(kind, row);
        store.put(row);
      }
      await recount.keep(tx);
      return rows.length === AT_ONCE ? [name, rows.at(-1).id] : null;
    });
  }
}

async function foldParked(declared) {
  for (let after = ""; after !== null; ) {
    const from = after;
    after = await transact(["meta", ...ROWS], "readwrite", async (tx) => {
      const parked = tx.objectStore("parked");
      const found = await asked(parked.getAll(IDBKeyRange.lowerBound(from, true), AT_ONCE));
      const rows = await Rows.of(tx, declared);
      for (const one of found) {
        parked.delete(one.id);
        if (one.cells) await rows.join(one.kind, one.record, one.cells);
        else await rows.take(one);
      }
      await rows.keep();
      return found.length === AT_ONCE ? found.at(-1).id : null;
    });
  }
}

/** Have the rows put in place, and counted, anew. */
export async function settleAnew() {
  await transact(["meta"], "readwrite", (tx) => {
    putMeta(tx, "kinds", "");
    putMeta(tx, "shapes", {});
  });
  getting = null;
  await ready();
}

/** `transact`, once the store can be used. What is read in one turn is read in one transaction. */
export async function within(stores, mode, work, durability) {
  if (mode === "readonly") {
    await readable();
    return readTogether(stores, work);
  }
  isFull = false;
  await ready();
  return transact(stores, mode, work, durability);
}

/** Wait until the store can be read: on a phone too full to put the rows in their places anew, as the
    version before left them. The next write tries again. */
async function readable() {
  if (isFull) return;
  await ready().catch((error) => {
    if (!isForRoom(error)) throw error;
    isFull = true;
  });
}

/** @type {{stores: string[], work: (tx: any) => any, resolve: (found: any) => void, reject: (error: any) => void}[]} */
let reads = [];

function readTogether(stores, work) {
  if (!reads.length) queueMicrotask(readAll);
  return new Promise((resolve, reject) => {
    reads.push({ stores, work, resolve, reject });
  });
}

/** A screen reads a dozen things, and each transaction costs a phone as much as what is read in it. */
async function readAll() {
  const mine = reads;
  reads = [];
  const one = async (tx, { work, resolve, reject }) => {
    try {
      resolve(await work(tx));
    } catch (error) {
      // Where the connection is gone all are asked anew; else it is the matter of the one who asked.
      if (isLost(error) || tx.error) throw error;
      reject(error);
    }
  };
  try {
    const stores = [...new Set(mine.flatMap((read) => read.stores))];
    await transact(stores, "readonly", (tx) => Promise.all(mine.map((read) => one(tx, read))));
  } catch (error) {
    for (const { reject } of mine) reject(error);
  }
}
