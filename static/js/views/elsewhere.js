// A dog's notes and cues for stations that its card lacks: after its sex was put right, say, or where
// another version of the app had others. Nothing written is out of reach.

import { cardOf, dogFile, elsewhere, stationsOf } from "../dogfile.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { rowsOf } from "../parts/guard.js";
import { dogName } from "../parts/names.js";
import { notesNode } from "../parts/notes.js";
import { knowledge } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/elsewhere": linesElsewhere };

// The station chosen for a row: what comes in before it is moved draws the list anew.
const chosen = new Map();

async function linesElsewhere({ id }) {
  const [file, { general }] = await Promise.all([dogFile(id), knowledge()]);
  if (!file) return null;
  const rows = elsewhere(file);
  const here = stationsOf(cardOf(file));
  const nameOf = (station) => general.stations.find((one) => one.id === station)?.name ?? station ?? "No station";
  const node = fill(clone("elsewhere"), {
    back: icon("back"),
    words: rows.length
      ? `The card of ${dogName(file.dog)} does not have these stations. Move each line to one that it has, or remove it.`
      : "Nothing left.",
    list: rowsOf(rows, (row) => rowNode(row, nameOf(row.values.station), here)),
  });
  part(node, "back").href = `#/dog/${id}/card`;
  return { node, title: `${dogName(file.dog)}: other stations`, live: true };
}

function rowNode(row, station, here) {
  const node = fill(clone("elsewhere-row"), {
    station,
    words:
      row.kind === "note" ? notesNode([row], { canEdit: false }) : row.values.line?.trim() || "A line without words",
  });
  const picker = part(node, "to");
  picker.replaceChildren(...here.map(({ id, name }) => new Option(name, id, false, id === chosen.get(row.id))));
  picker.addEventListener("change", () => chosen.set(row.id, picker.value));
  const put = async (values, words) => {
    await store.write(row.kind, row.id, values);
    say(words);
    part(document, "title")?.focus({ preventScroll: true });
  };
  on(node, "move", () => put({ station: picker.value }, `Moved to ${picker.selectedOptions[0].text}.`));
  return on(node, "remove", () => put({ deleted: true }, "Removed. Bring it back in Settings, under Removed."));
}
