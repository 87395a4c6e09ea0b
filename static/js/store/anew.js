// The end of receiving a book anew: what its restored copy has lost, and nobody here wrote, goes.

import { kinds } from "../shipped.js";
import { place } from "../core/rows.js";
import { asked, getMeta, putMeta } from "./db.js";
import { announce } from "./news.js";
import { settleAnew, within } from "./ready.js";

const AT_ONCE = 1_000;

/** Let each row be what the book and our own changes make it. Cut off anywhere, it is simply done
    again. Gives whether there was anything to do. */
export async function endAnew() {
  const declared = await kinds();
  const anew = await within(["meta"], "readonly", (tx) => getMeta(tx, "anew"));
  if (!anew) return false;
  for (let after = []; after; ) {
    const from = after;
    after = await within(["rows"], "readwrite", async (tx) => {
      const store = tx.objectStore("rows");
      const rows = await asked(store.getAll(IDBKeyRange.lowerBound(from, true), AT_ONCE));
      for (const row of rows) renewed(store, declared[row.kind], row, anew);
      return rows.length === AT_ONCE ? [rows.at(-1).kind, rows.at(-1).id] : null;
    });
  }
  await within(["meta"], "readwrite", (tx) => putMeta(tx, "anew", 0));
  await settleAnew();
  announce();
  return true;
}

function renewed(store, kind, row, anew) {
  if (row.anew === anew) return; // done before it was cut off
  if (row.next?.anew !== anew) {
    store.delete([row.kind, row.id]);
    return;
  }
  row.cells = row.next.cells;
  row.anew = anew;
  delete row.next;
  if (kind) place(kind, row); // a version that knows it puts it in its place
  store.put(row);
}
