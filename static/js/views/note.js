// A private note, two taps from the list of dogs: which station it is about, and the words.

import { cardOf, dogFile, stationsOf } from "../dogfile.js";
import { clone, fill, icon, part, say } from "../dom.js";
import { onSave } from "../forms.js";
import { goInstead } from "../router.js";
import { kinds } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/note": note };

async function note({ id }) {
  const [file, { note: declared }] = await Promise.all([dogFile(id), kinds()]);
  if (!file) return null;
  const { name } = file.dog.values;
  const node = fill(clone("note-form"), { back: icon("back"), title: `Note on ${name ?? "this dog"}` });
  part(node, "back").href = `#/dog/${id}`;
  const form = part(node, "form");
  const stations = stationsOf(cardOf(file));
  form.elements.station.replaceChildren(...stations.map((one) => new Option(one.name, one.id)));
  const last = file.notes.at(-1)?.values.station;
  if (stations.some((one) => one.id === last)) form.elements.station.value = last;
  await onSave(node, form, ["station", "text"], declared.fields, {
    missing: { text: "Write something first." },
    draft: `note ${id}`,
    save: async (values) => {
      await store.write("note", null, { dog: id, ...values });
      say("Note saved.");
      goInstead(`dog/${id}`);
    },
  });
  return { node, title: "Private note", shown: () => form.elements.text.focus() };
}
