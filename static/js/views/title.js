// A title that the dog holds, or a test it has passed, whatever else is written down of it.

import { dayProblem, reasons } from "../core/bounds.js";
import { held } from "../core/held.js";
import { localDay } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { keepUnknown, onSave, show, worthWriting } from "../forms.js";
import { goInstead } from "../router.js";
import { kinds, homeBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/title/:title": heldForm };

async function heldForm({ id, title }) {
  const isNew = title === "new";
  const [{ title: declared }, rules, dog, row] = await Promise.all([
    kinds(),
    homeBook(),
    store.get("dog", id),
    isNew ? null : store.get("title", title),
  ]);
  if (!dog || dog.values.deleted || (!isNew && (!row || row.values.deleted))) return null;
  const was = row?.values ?? {};
  const node = fill(clone("held-form"), { back: icon("back"), title: isNew ? "New title held" : "Edit title held" });
  part(node, "back").href = `#/dog/${id}/awards`;
  const form = part(node, "form");
  const showTitles = () =>
    form.elements.what.replaceChildren(
      ...Object.entries(held(rules.held, form.elements.body.value) ?? {}).map(([what, name]) => new Option(name, what)),
    );
  form.elements.body.value = was.body ?? dog.values.body ?? "FCI";
  showTitles();
  form.elements.body.addEventListener("change", showTitles);
  form.elements.day.max = localDay();
  show(form, was);
  keepUnknown(form.elements.what, was.what);
  await onSave(node, form, ["body", "what", "day"], declared.fields, {
    missing: { what: "Choose the title or the test." },
    draft: `title ${isNew ? id : title}`,
    extra: ({ day }) => reasons({ day: dayProblem(rules.bounds, day, { born: dog.values.born, today: localDay() }) }),
    save: async (values) => {
      await store.write("title", row?.id ?? null, { dog: id, ...worthWriting(values, was) });
      goInstead(`dog/${id}/awards`);
    },
  });
  if (isNew) fill(node, { remove: null });
  on(node, "remove", async () => {
    await store.write("title", title, { deleted: true });
    say("Title removed. Bring it back in Settings, under Removed.");
    goInstead(`dog/${id}/awards`);
  });
  return { node, title: "Title held" };
}
