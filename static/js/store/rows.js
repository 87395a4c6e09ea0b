// Rows and sums within a transaction: every write of a record goes through `keep`.

import { ownerOf, packsOf, blank } from "../core/rows.js";
import { asked } from "./db.js";

export const ROWS = ["rows", "sums", "stale"];

/** The rows that one transaction touches, read once and written once at the end. */
export class Rows {
  #tx;
  #declared;
  #held = new Map();

  constructor(tx, declared) {
    this.#tx = tx;
    this.#declared = declared;
  }

  /** The row of a record, blank if there is none yet. Alter it in place. */
  async row(kind, id) {
    const key = `${kind} ${id}`;
    if (!this.#held.has(key)) {
      const row = (await asked(this.#tx.objectStore("rows").get([kind, id]))) ?? blank(kind, id);
      this.#held.set(key, { row, before: this.#standing(row) });
    }
    return this.#held.get(key).row;
  }

  /** Write what was touched, with the sums, and mark the packs that are stale now. */
  async keep() {
    const moved = new Map();
    for (const { row, before } of this.#held.values()) {
      if (!Object.keys(row.cells).length) continue;
      const after = this.#standing(row);
      count(moved, row.kind, before.owner, -1);
      count(moved, row.kind, after.owner, 1);
      for (const [kind, id] of [...before.packs, ...after.packs]) this.#tx.objectStore("stale").put({ kind, id });
      this.#tx.objectStore("rows").put(row);
    }
    await addUp(this.#tx, moved);
    this.#held.clear();
  }

  // What of a row others depend on. A row without places is not there, or removed; one of a kind that
  // a newer version wrote here stands as that one left it.
  #standing(row) {
    const kind = this.#declared[row.kind];
    if (!kind) return { owner: null, packs: [] };
    return { owner: row.places ? ownerOf(kind, row.values) : null, packs: packsOf(kind, row) };
  }
}

function count(moved, kind, owner, by) {
  if (owner === null) return;
  const key = JSON.stringify([kind, owner]);
  moved.set(key, (moved.get(key) ?? 0) + by);
}

/** Add to the sums: {JSON of [kind, owner]: how many more}. */
async function addUp(tx, moved) {
  const sums = tx.objectStore("sums");
  for (const [key, by] of moved) {
    if (by === 0) continue;
    const [kind, owner] = JSON.parse(key);
    const known = (await asked(sums.get([kind, owner])))?.count ?? 0;
    sums.put({ kind, owner, count: known + by });
  }
}

/** Count rows that are put in place anew, as `addUp` takes it. */
export class Recount {
  #moved = new Map();

  add(kind, row) {
    if (row.places) count(this.#moved, row.kind, ownerOf(kind, row.values), 1);
  }

  keep(tx) {
    return addUp(tx, this.#moved);
  }
}
