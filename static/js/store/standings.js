// What the marks of a dog's stations come to (core/practice.js), kept among the sums and kept up like
// them: a new mark costs one decay and one addition, however many there were. Where a mark is changed
// or removed, the station is reckoned anew from its marks when somebody asks for it next.

import { addMark, FORGOTTEN, isMark, NOTHING } from "../core/practice.js";
import { groupKey } from "../core/rows.js";
import { asked, beginning } from "./db.js";

const KIND = "practice";

/** {key, grade, at, hands} of a row that is a mark; null for all others. */
export function markOf({ kind, places, values }) {
  if (kind !== KIND || !places || !values.grade || !values.at) return null;
  const { dog, station, grade, at, hands } = values;
  return { key: groupKey(dog ?? "", station), grade, at, hands };
}

/** Bring the standings up to date with marks: [[before, after], ...], null where there was none. */
export async function keepUp(tx, marks) {
  const sums = tx.objectStore("sums");
  const moved = marks.filter(([before, after]) => JSON.stringify(before) !== JSON.stringify(after));
  const gone = new Set(moved.flatMap(([before]) => before?.key ?? []));
  const added = new Map();
  for (const [, mark] of moved) if (mark) added.set(mark.key, [...(added.get(mark.key) ?? []), mark]);
  for (const key of gone) sums.delete([KIND, key]);
  const keys = [...added.keys()].filter((key) => !gone.has(key));
  for (const [place, here] of (await kept(tx, keys)).entries()) {
    const key = keys[place];
    if (!here) continue;
    if (added.get(key).every((mark) => isMark(mark, Date.now()))) sums.put(added.get(key).reduce(addTo, here));
    else sums.delete([KIND, key]);
  }
}

const addTo = (sums, mark) => ({ ...sums, ...addMark(sums, mark) });

/** The sums kept under these keys, undefined for those that are not. */
export const kept = (tx, keys) => Promise.all(keys.map((key) => asked(tx.objectStore("sums").get([KIND, key]))));

/** The sums of one station from its marks, the newest first, as far back as they weigh anything. One that
    is dated ahead counts when its day has come: until then the sums are not kept. Nor are they where `tx`
    only reads. */
export async function reckoned(tx, key) {
  const [marks, isWhole] = await newestMarks(tx, key, Date.now());
  const made = { kind: KIND, owner: key, ...marks.reduceRight(addMark, NOTHING) };
  if (isWhole && tx.mode === "readwrite") tx.objectStore("sums").put(made);
  return made;
}

function newestMarks(tx, key, now) {
  const marks = [];
  let isWhole = true;
  return new Promise((resolve, reject) => {
    const request = tx.objectStore("rows").index("places").openCursor(beginning(KIND, key), "prev");
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const cursor = request.result;
      const values = cursor?.value.values;
      if (!cursor || Date.parse(values.at) < now - FORGOTTEN) return resolve([marks, isWhole]);
      if (isMark(values, now)) marks.push(values);
      else if (values.grade && values.at) isWhole = false;
      return cursor.continue();
    };
  });
}
