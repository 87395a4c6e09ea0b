// What was removed, here or on another phone, and can be brought back.

import { held } from "../core/held.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { rowsOf } from "../parts/guard.js";
import { kindName } from "../parts/names.js";
import { withOlder } from "../parts/older.js";
import { kinds } from "../shipped.js";
import * as store from "../store.js";

export const routes = { removed };

const AT_ONCE = 60;
const LABELS = ["name", "label", "line", "says"];

async function removed() {
  const declared = await kinds();
  const isListed = (row) => Boolean(held(declared, row.kind)?.listed);
  const node = fill(clone("removed"), { back: icon("back") });
  const list = part(node, "list");
  await withOlder(node, {
    name: "removed",
    step: AT_ONCE,
    read: (most, last) => store.removed(most, last, isListed),
    add: (rows) => list.append(...rowsOf(rows, (row) => rowNode(row, kindName(declared[row.kind])))),
  });
  fill(node, { words: list.children.length ? "What was removed last is on top." : "Nothing removed." });
  return { node, title: "Removed", live: true };
}

function rowNode(row, kind) {
  const label = LABELS.map((name) => row.values[name]?.trim()).find(Boolean);
  const node = fill(clone("removed-row"), { words: label ? `${kind}: ${label}` : kind });
  return on(node, "restore", async () => {
    // The row goes; the screen's heading stays.
    part(document, "title").focus({ preventScroll: true });
    await store.write(row.kind, row.id, { deleted: false });
    say("Brought back.");
  });
}
