// One odd value costs nobody else: what cannot be drawn is said in its place, told to the console,
// and the rest of the page lives.

import { clone, fill, icon, on, say } from "../dom.js";
import * as store from "../store.js";
import { KINDS } from "./kinds.js";

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

/** A row said in plain `words`; if it is a record, with a way to remove it. */
export function oddRow(row, words) {
  const kind = row?.cells && KINDS[row.kind];
  const node = fill(clone("odd-row"), { icon: icon("caution"), words: kind ? `${kind}: ${words}` : words });
  if (!kind) return fill(node, { remove: null });
  return on(node, "remove", async () => {
    await store.write(row.kind, row.id, { deleted: true });
    say("Removed. Bring it back in Settings, under Removed.");
    node.remove();
  });
}
