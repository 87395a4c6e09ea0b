// A draft that a screen changes at every tap: the screen first, the store after it.

import * as store from "../store.js";

/** What keeps a draft under `key`, as `draft` gives it: one try after the other, what is newest last.
    `failed` is called with what went wrong.
    @param {string} key @param {() => any} draft @param {(error: any) => void} failed */
export function keptDraft(key, draft, failed) {
  let running = null;
  let isStale = false;
  const keep = () => {
    isStale = true;
    running ??= keepAll().finally(() => (running = null));
  };

  async function keepAll() {
    while (isStale) {
      isStale = false;
      await store.putDraft(key, draft()).catch(failed);
    }
  }

  async function drop() {
    await running;
    await store.dropDraft(key);
  }

  return { keep, drop };
}
