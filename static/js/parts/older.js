// A long list: its newest rows, and older ones with each tap of "Show older". What was opened stays open
// while the app runs, also where the screen is drawn anew.

import { part } from "../dom.js";

/** How many rows are shown of a list, by its name. */
const opened = new Map();

/** Draw a list in `node`, which has a button `older`, in so many rows a `step`: `read(most, last)` gives the
    rows behind `last`, the first ones for null, and `add(rows)` draws them.
    @param {HTMLElement} node
    @param {{name: string, step: number, read: (most: number, last: any) => Promise<any[]>,
      add: (rows: any[]) => void}} list */
export async function withOlder(node, { name, step, read, add }) {
  const button = part(node, "older");
  let last = null;

  async function show(many) {
    // One more than is shown tells whether there are more.
    const found = await read(many + 1, last);
    const rows = found.slice(0, many);
    last = rows.at(-1) ?? last;
    add(rows);
    button.hidden = found.length <= many;
  }

  let shown = opened.get(name) ?? step;
  await show(shown);
  // A second tap may come while the rows of the first are read.
  let turn = Promise.resolve();
  button.addEventListener("click", () => {
    shown += step;
    opened.set(name, shown);
    turn = turn.then(() => show(step));
  });
}
