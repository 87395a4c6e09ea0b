// Writing. A record and the change that made it are written in one transaction with strict
// durability, and a write is done when that transaction completes.

import { problem } from "../core/check.js";
import { nodeOf, tick } from "../core/clock.js";
import { uuid7 } from "../core/ids.js";
import { apart, base } from "../core/merge.js";
import { foldInto } from "../core/rows.js";
import { kinds } from "../shipped.js";
import { asked, getMeta, putMeta } from "./db.js";
import { announce } from "./news.js";
import { within } from "./ready.js";
import { Rows, ROWS } from "./rows.js";

/** Set fields of a record (a new one if `id` is null). Returns the id once it is safely kept. */
export const write = async (kind, id, values) => (await writeAll([{ kind, id, values }]))[0];

/** Write several records in one transaction: all are kept, or none. Returns their ids. */
export async function writeAll(writes) {
  const declared = await kinds();
  const ids = await within(["changes", "meta", ...ROWS], "readwrite", async (tx) => {
    const rows = new Rows(tx, declared);
    const device = (await getMeta(tx, "device")) ?? uuid7();
    const now = Date.now() + ((await getMeta(tx, "skew")) ?? 0);
    let clock = (await getMeta(tx, "clock")) ?? "";
    const written = [];
    for (const { kind, id, values } of writes) {
      for (const [field, wanted] of Object.entries(values)) check(declared, kind, field, wanted);
      const row = await rows.row(kind, id ?? uuid7());
      for (const [field, wanted] of Object.entries(values)) {
        if (field in row.values && same(row.values[field], wanted) && !isApart(row, field)) continue;
        clock = tick(clock, now, nodeOf(device));
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
        foldInto(declared[kind], row, change);
      }
      written.push(row.id);
    }
    await rows.keep();
    putMeta(tx, "device", device);
    putMeta(tx, "clock", clock);
    return written;
  });
  announce();
  return ids;
}

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);
const isApart = (row, field) => Object.keys(apart(row.cells[field])).length > 0;

/** Throws, in words, if the book would not keep `wanted`. */
function check(declared, kind, field, wanted) {
  const known = declared[kind]?.fields[field];
  const reason = known ? problem(known, wanted) : "is not a field of the book";
  if (reason) throw new Error(`The ${field} ${reason}.`);
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
