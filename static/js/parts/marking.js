// Marks of all stations of a session on one screen: each is kept as it is tapped.

import { clone, fill, part, say } from "../dom.js";
import * as store from "../store.js";
import { GRADES, gradeButtons } from "./rows.js";

/** A row for each station of the session `walk` (its row). What is tapped is kept; tapped again, it is
    taken back. */
export async function markRows(walk, stations) {
  const kept = await store.about("practice", walk.id);
  /** @type {Map<string, {id: string, grade: string}>} */
  const marks = new Map();
  for (const { id, values } of kept) if (values.grade) marks.set(values.station, { id, grade: values.grade });
  return stations.map((station) => markRow(walk, station, marks));
}

function markRow(walk, station, marks) {
  const node = fill(clone("mark-row"), { station: station.name });
  gradeButtons(node, (grade) => mark(node, walk, station, marks, grade));
  show(node, marks.get(station.id)?.grade);
  return node;
}

async function mark(node, walk, station, marks, grade) {
  const before = marks.get(station.id);
  const isSame = before?.grade === grade;
  const { dog, hands } = walk.values;
  const made = {
    dog,
    walk: walk.id,
    station: station.id,
    grade,
    at: new Date().toISOString(),
    ...(hands && { hands }),
  };
  try {
    const id = await store.write("practice", before?.id ?? null, isSame ? { deleted: true } : made);
    if (isSame) marks.delete(station.id);
    else marks.set(station.id, { id, grade });
    show(node, isSame ? "" : grade);
    say(isSame ? `${station.name}: no mark.` : `${station.name}: ${grade}.`);
  } catch (error) {
    say(`Not saved: ${error.message} Tap again.`);
    fill(node, { station: `${station.name}: not saved. Tap again.` });
  }
}

function show(node, grade) {
  for (const [value, { icon: name }] of Object.entries(GRADES))
    part(node, name).setAttribute("aria-pressed", String(value === grade));
}
