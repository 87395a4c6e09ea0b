// What was removed, here or on another phone, and can be brought back.

import { few } from "../core/words.js";
import { clone, fill, icon, on, say } from "../dom.js";
import * as store from "../store.js";

const NAMES = { dog: "Dog", note: "Private note", cue: "Own cue", ask: "Own ask", order: "Order", practice: "Practice mark", walk: "Walk", tick: "Tick" };
const LABELS = ["name", "label", "line", "says"];

export async function removed() {
  const rows = (await store.deleted()).filter((row) => row.kind in NAMES && row.kind !== "tick");
  const node = fill(clone("removed"), {
    back: icon("back"),
    words: rows.length ? `${few(rows.length, "entry", "entries")} can be brought back.` : "Nothing was removed.",
    list: rows.map(rowNode),
  });
  return { node, title: "Removed", live: true };
}

function rowNode(row) {
  const label = LABELS.map((name) => row.values[name]).find(Boolean);
  const node = fill(clone("removed-row"), { words: label ? `${NAMES[row.kind]}: ${label}` : NAMES[row.kind] });
  return on(node, "restore", async () => {
    await store.write(row.kind, row.id, { deleted: false });
    say("Brought back.");
  });
}
