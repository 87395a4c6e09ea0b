// Rows and sums within a transaction: every write of a record goes through `keep`.
//
// While the book is received anew (it is a restored copy), each row also gathers in `next` what it
// comes to from the book and this phone's own changes alone; when all is here, that takes the place
// of what the phone showed before (anew.js).

import {
  blank,
  foldCell,
  foldInto,
  joinCells,
  knows,
  madeFrom,
  ownerOf,
  packsOf,
  place,
  renameIn,
} from "../core/rows.js";
import { asked, getMeta, putMeta } from "./db.js";
import { keepUp, markOf } from "./standings.js";

export const ROWS = ["rows", "parked", "sums", "stale"];

/** The build says in its page which declarations it has, so that nothing is fetched to know it. */
export const ours = () => document.documentElement.dataset.kinds;

/** What of a declaration the places of its rows depend on. */
export const shapeOf = ({ about, also, newest, by, fields }) => JSON.stringify([about, also, newest, by, fields]);

/** The rows that one transaction touches, read once and written once at the end. */
export class Rows {
  #tx;
  #declared;
  #anew;
  #isOurs;
  #held = new Map();

  constructor(tx, declared, anew, isOurs) {
    this.#tx = tx;
    this.#declared = declared;
    this.#anew = anew;
    this.#isOurs = isOurs;
  }

  /** The rows of a transaction that has "meta" among its stores. */
  static async of(tx, declared) {
    const [anew, settled] = await Promise.all(["anew", "kinds"].map((key) => getMeta(tx, key)));
    return new Rows(tx, declared, anew ?? 0, settled === ours());
  }

  /** The row of a record, blank if there is none yet. Alter it in place. */
  async row(kind, id) {
    return this.#of(kind, id) ?? this.#hold((await asked(this.#rows().get([kind, id]))) ?? blank(kind, id));
  }

  /** Read at once what is needed of a kind; `ids` are in their order. */
  async readAll(kind, ids) {
    const range = IDBKeyRange.bound([kind, ids[0]], [kind, ids.at(-1)]);
    const found = new Map((await asked(this.#rows().getAll(range))).map((row) => [row.id, row]));
    for (const id of ids) if (!this.#of(kind, id)) this.#hold(found.get(id) ?? blank(kind, id));
  }

  /** Fold a change into its record; what this version does not know is parked until one comes that does. */
  async take(change) {
    if (!knows(this.#declared, change)) {
      this.#tx.objectStore("parked").put(change);
      return;
    }
    const kind = this.#declared[change.kind];
    const row = await this.row(change.kind, change.record);
    foldInto(kind, row, change);
    if (this.#anew) foldCell(kind, this.#next(row), change);
  }

  /** Join the cells of a record as the book has them to what is here. */
  async join(kind, id, cells) {
    const declared = this.#kind(kind);
    if (!declared) {
      this.#tx.objectStore("parked").put({ id: `${kind}/${id}`, kind, record: id, cells });
      return;
    }
    const row = await this.row(kind, id);
    joinCells(row.cells, cells);
    if (this.#anew) joinCells(this.#next(row), cells);
    place(declared, row);
  }

  /** A change of ours was kept under another stamp than `raw`, or the same. */
  async settle(change, raw) {
    if (change.stamp !== raw) renameIn((await this.row(change.kind, change.record)).cells, change, raw);
    if (change.stamp !== raw || this.#anew) await this.take(change);
  }

  /** Write what was touched, with the sums, and mark the packs that are stale now. */
  async keep() {
    const moved = new Map();
    const marks = [];
    const stale = this.#tx.objectStore("stale");
    for (const { row, before } of this.#held.values()) {
      if (!Object.keys(row.cells).length) continue;
      const after = this.#standing(row);
      count(moved, row.kind, before.owner, -1);
      count(moved, row.kind, after.owner, 1);
      if (before.made !== after.made)
        for (const [kind, id] of [...before.packs, ...after.packs]) stale.put({ kind, id });
      marks.push([before.mark, after.mark]);
      this.#rows().put(row);
    }
    await addUp(this.#tx, moved);
    await keepUp(this.#tx, marks);
    if (!this.#isOurs) await this.#leaveToOthers();
    this.#held.clear();
  }

  // A window that stayed with its version, while another took up a newer one, parks what that one knows,
  // and puts rows in place by declarations of its own: the other goes over them when it is opened next.
  async #leaveToOthers() {
    const shapes = (await getMeta(this.#tx, "shapes")) ?? {};
    for (const { row } of this.#held.values()) {
      const kind = this.#kind(row.kind);
      if (kind) shapes[row.kind] = shapeOf(kind);
    }
    putMeta(this.#tx, "shapes", shapes);
    putMeta(this.#tx, "kinds", "");
  }

  // Another version's kind may be called "constructor".
  #kind(name) {
    return Object.hasOwn(this.#declared, name) ? this.#declared[name] : undefined;
  }

  #rows() {
    return this.#tx.objectStore("rows");
  }

  #of(kind, id) {
    return this.#held.get(`${kind} ${id}`)?.row;
  }

  #hold(row) {
    this.#held.set(`${row.kind} ${row.id}`, { row, before: this.#standing(row) });
    return row;
  }

  #next(row) {
    if (row.next?.anew !== this.#anew) row.next = { anew: this.#anew, cells: {} };
    return row.next.cells;
  }

  // What of a row others depend on. A row without places is not there, or removed; one of a kind that
  // a newer version wrote here stands as that one left it.
  #standing(row) {
    const kind = this.#kind(row.kind);
    if (!kind) return { owner: null, packs: [], made: "", mark: null };
    const owner = row.places ? ownerOf(kind, row.values) : null;
    return { owner, packs: packsOf(kind, row), made: madeFrom(kind, row), mark: markOf(row) };
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
