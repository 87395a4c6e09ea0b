// Writes in line, for screens that a tap changes at once: one transaction after the other, and
// what fails stays in line and is tried again.

import * as store from "./store.js";

const AGAIN = 1_000;

/** A line of writes. `told` is called after each try; `unkept` says whether the last one failed. */
export function writesInLine(told) {
  let waiting = [];
  let running = null;
  const line = {
    unkept: false,
    add: (write) => void waiting.push(write),
    save: () => (running ??= saveAll().finally(() => (running = null))),
  };

  async function saveAll() {
    while (waiting.length) {
      const batch = waiting;
      waiting = [];
      try {
        await store.writeAll(batch);
        line.unkept = false;
        told();
      } catch (error) {
        waiting = [...batch, ...waiting];
        line.unkept = true;
        console.error(error);
        told();
        await new Promise((resolve) => setTimeout(resolve, AGAIN));
      }
    }
  }

  return line;
}
