// Writing. A record and the change that made it are written in one transaction with strict
// durability, and a write is done when that transaction completes.

import { problem } from "../core/check.js";
import { ms, nodeOf, tick } from "../core/clock.js";
import { uuid7 } from "../core/ids.js";
import { apart, base, without } from "../core/merge.js";
import { kinds } from "../shipped.js";
import { asked, getMeta, putMeta } from "./db.js";
import { announce } from "./news.js";
import { within } from "./ready.js";
import { Rows, ROWS } from "./rows.js";

// The book takes no change that names more (ringside/book/changes.py).
const MOST_BASES = 64;

/** Set fields of a record (a new one if `id` is null). Returns the id once it is safely kept. */
export const write = async (kind, id, values) => (await writeAll([{ kind, id, values }]))[0];

/** Write several records in one transaction: all are kept, or none. What is written together has
    one moment in its stamps, by which it travels together. Returns their ids. */
export async function writeAll(writes) {
  const declared = await kinds();
  const ids = await within(["changes", "meta", ...ROWS], "readwrite", async (tx) => {
    const rows = await Rows.of(tx, declared);
    const pen = await Pen.taken(tx, rows);
    const written = [];
    for (const { kind, id, values } of writes) {
      for (const [field, wanted] of Object.entries(values)) check(declared, kind, field, wanted);
      const row = await rows.row(kind, id ?? uuid7());
      for (const [field, wanted] of Object.entries(values)) {
        if (field in row.values && same(row.values[field], wanted) && !isApart(row, field)) continue;
        await pen.set(row, field, wanted);
      }
      written.push(row.id);
    }
    await rows.keep();
    pen.laidDown();
    return written;
  });
  announce();
  return ids;
}

/** Writes changes, each with a stamp of its own. */
class Pen {
  #tx;
  #rows;
  #device;
  #clock;
  #moment;
  #refused;

  /** The phone's own pen. Its moment is new: nothing written before has it. */
  static async taken(tx, rows) {
    const pen = new Pen();
    const [device, clock, skew] = await Promise.all(["device", "clock", "skew"].map((key) => getMeta(tx, key)));
    pen.#refused = await asked(tx.objectStore("changes").index("state").getAll("refused"));
    pen.#tx = tx;
    pen.#rows = rows;
    pen.#device = device ?? uuid7();
    pen.#clock = clock ?? "";
    pen.#moment = Math.max(Date.now() + (skew ?? 0), clock ? ms(clock) + 1 : 0);
    return pen;
  }

  /** Set one field of a row; several changes do it where more texts are replaced than one can name. */
  async set(row, field, value) {
    const { stamps, refused } = await baseOf(this.#tx, row.cells[field]);
    // What the book refused is replaced here as well, though it cannot be named to the book.
    if (row.cells[field]?.heads) row.cells[field] = without(row.cells[field], refused);
    while (stamps.length > MOST_BASES) {
      stamps.unshift(await this.#change(row, field, value, stamps.splice(0, MOST_BASES)));
    }
    await this.#change(row, field, value, stamps);
  }

  async #change(row, field, value, stamps) {
    this.#clock = tick(this.#clock, this.#moment, nodeOf(this.#device));
    const place = { kind: row.kind, record: row.id, field, value };
    const change = { id: uuid7(), ...place, stamp: this.#clock, base: stamps.join(" "), device: this.#device };
    this.#tx.objectStore("changes").put({ ...change, state: "unsent" });
    this.#mend(row.id, field);
    await this.#rows.take(change);
    return this.#clock;
  }

  /** A refused change is mended by writing its field anew. */
  #mend(record, field) {
    const changes = this.#tx.objectStore("changes");
    for (const change of this.#refused)
      if (change.record === record && change.field === field && change.stamp < this.#clock)
        changes.put({ ...change, state: "mended" });
  }

  laidDown() {
    putMeta(this.#tx, "device", this.#device);
    putMeta(this.#tx, "clock", this.#clock);
  }
}

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);
const isApart = (row, field) => Object.keys(apart(row.cells[field])).length > 0;

/** Throws, in words, if the book would not keep `wanted`. */
function check(declared, kind, field, wanted) {
  const known = declared[kind]?.fields[field];
  const reason = known ? problem(known, wanted) : "is not a field of the book";
  if (reason) throw new Error(`The ${field} ${reason}.`);
}

/** {stamps, refused}: what an edit replaces, as the book can know it (for a value it refused, what
    that one replaced), and the stamps of those values. */
async function baseOf(tx, cell) {
  const changes = tx.objectStore("changes");
  const stamps = [];
  const refused = [];
  for (const stamp of base(cell).split(" ").filter(Boolean)) {
    const change = await asked(changes.get(stamp));
    if (["refused", "mended"].includes(change?.state)) {
      refused.push(stamp);
      stamps.push(...change.base.split(" ").filter(Boolean));
    } else stamps.push(stamp);
  }
  return { stamps, refused };
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
