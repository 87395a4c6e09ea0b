// What was removed, here or on another phone, and can be brought back.

import { few } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { KINDS } from "../parts/kinds.js";
import * as store from "../store.js";

export const routes = { removed };

// What comes and goes with the screen it is ticked on.
const UNLISTED = new Set(["tick", "gate", "kit"]);
const LABELS = ["name", "label", "line", "says"];

async function removed() {
  const rows = (await store.deleted()).filter((row) => row.kind in KINDS && !UNLISTED.has(row.kind));
  const node = fill(clone("removed"), {
    back: icon("back"),
    words: rows.length ? `${few(rows.length, "entry", "entries")} can be brought back.` : "Nothing was removed.",
    list: rows.map(rowNode),
  });
  return { node, title: "Removed", live: true };
}

function rowNode(row) {
  const label = LABELS.map((name) => row.values[name]).find(Boolean);
  const node = fill(clone("removed-row"), { words: label ? `${KINDS[row.kind]}: ${label}` : KINDS[row.kind] });
  return on(node, "restore", async () => {
    // The row goes; the screen's heading stays.
    part(document, "title").focus({ preventScroll: true });
    await store.write(row.kind, row.id, { deleted: false });
    say("Brought back.");
  });
}
