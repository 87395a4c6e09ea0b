// What was removed, here or on another phone, and can be brought back.

import { few } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { rowsOf } from "../parts/guard.js";
import { nameOf } from "../parts/lines.js";
import { kinds } from "../shipped.js";
import * as store from "../store.js";

export const routes = { removed };

// What comes and goes with the screen it is ticked on.
const UNLISTED = new Set(["tick", "gate", "kit"]);
const MOST = 200;
const LABELS = ["name", "label", "line", "says"];

async function removed() {
  const declared = await kinds();
  const rows = (await store.removed(MOST)).filter((row) => declared[row.kind]?.listed && !UNLISTED.has(row.kind));
  const node = fill(clone("removed"), {
    back: icon("back"),
    words: rows.length ? `${few(rows.length, "entry", "entries")} can be brought back.` : "Nothing removed.",
    list: rowsOf(rows, (row) => rowNode(row, nameOf(declared[row.kind]))),
  });
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
