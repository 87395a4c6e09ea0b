// When a walk was touched last: by its newest tick, or its newest mark, or as it began.

import * as store from "./store.js";

const MARKS = { ring: "tick", rehearse: "practice" };

/** An instant; of a walk's row. */
export async function touchedLast({ id, values }) {
  const [newest] = await store.newest(MARKS[values.mode], id, 1);
  return newest?.values.at ?? values.began;
}
