// One odd value costs nobody else: what cannot be drawn is said in its place, told to the console,
// and the rest of the page lives.

import { held } from "../core/held.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { kinds } from "../shipped.js";
import * as store from "../store.js";
import { kindName } from "./names.js";

/** The nodes that `draw` makes of `rows`. A record that cannot be drawn can be removed in its place.
    @param {any[]} rows
    @param {(row: any, place: number) => Node} draw
    @returns {Node[]} */
export const rowsOf = (rows, draw) =>
  rows.map((row, place) => {
    try {
      return draw(row, place);
    } catch (error) {
      console.error(error);
      return oddRow(row, "This line cannot be shown.");
    }
  });

/** The nodes that `draw` makes of a part of the page, or a word in their place.
    @param {() => Node | Node[]} draw
    @returns {Node[]} */
export function sectionOf(draw) {
  try {
    return [draw()].flat();
  } catch (error) {
    console.error(error);
    return [
      fill(clone("notice"), { icon: icon("caution"), words: "This part cannot be shown; the rest can be used." }),
    ];
  }
}

/** A row said in plain `words`; if it is a record of a kind that is known here, with its name, in a moment,
    and a way to remove it. */
export function oddRow(row, words) {
  const node = fill(clone("odd-row"), { icon: icon("caution"), words });
  part(node, "remove").hidden = true;
  if (row?.cells) nameRecord(node, row, words).catch(console.error);
  return node;
}

async function nameRecord(node, { kind, id }, words) {
  const declared = held(await kinds(), kind);
  if (!declared) return;
  fill(node, { words: `${kindName(declared)}: ${words}` });
  part(node, "remove").hidden = false;
  on(node, "remove", async () => {
    await store.write(kind, id, { deleted: true });
    say(declared.listed ? "Removed. Bring it back in Settings, under Removed." : "Removed.");
    node.remove();
  });
}
