// One photo: to look at, what was said of it, and what it is used for.

import { dayProblem, reasons } from "../core/bounds.js";
import { localDay } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { onSave, show, worthWriting } from "../forms.js";
import { dogName } from "../parts/names.js";
import { hasFacing, putWhole, SAID, saidOf, viewName, viewsAtHand } from "../parts/photo.js";
import { saidAgain, standingOf } from "../photos.js";
import { kinds, rulesBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "photo/:id": photo };

async function photo({ id }) {
  const [row, book] = await Promise.all([store.get("photo", id), viewsAtHand()]);
  const dog = row && (await store.get("dog", row.values.dog));
  if (!dog || dog.values.deleted) return null;
  const name = viewName(book, row.values.view);
  const title = `${dogName(dog)}: ${name}`;
  if (row.values.deleted) return { node: removedNode(row, dog), title, live: true };
  const node = fill(clone("photo"), { back: icon("back"), title: name, said: saidOf(row.values) });
  part(node, "back").href = `#/dog/${dog.id}/photos`;
  part(node, "mark").href = `#/photo/${id}/mark`;
  part(node, "copy").checked = Boolean(row.values.copy);
  part(node, "portrait").checked = Boolean(dog.values.portrait) && dog.values.portrait === row.values.sha256;
  const redraw = async () => fill(node, await standingParts(row));
  await redraw();
  showPicture(node, row, title);
  on(node, "copy", ({ target }) => copy(row, target.checked, redraw), "change");
  on(node, "portrait", ({ target }) => usePortrait(dog, row, target.checked), "change");
  on(node, "remove", () => remove(dog, row));
  await correcting(node, row, dog);
  return { node, title, refresh: redraw };
}

/** A slip is put right here; another view would be another photo. */
async function correcting(node, row, dog) {
  const [{ photo: declared }, { bounds }] = await Promise.all([kinds(), rulesBook()]);
  const form = part(node, "form");
  show(form, row.values);
  form.elements.day.max = localDay();
  part(node, "facing-field").hidden = !hasFacing(row.values.view);
  await onSave(node, form, SAID, declared.fields, {
    missing: { day: "Enter the day." },
    draft: `photo ${row.id}`,
    extra: ({ day }) => reasons({ day: dayProblem(bounds, day, { born: dog.values.born, today: localDay() }) }),
    save: async (values) => {
      await store.write("photo", row.id, worthWriting(values, row.values));
      fill(node, { said: saidOf(values) });
      part(node, "correct").open = false;
      say("Saved.");
    },
  });
}

/** Not waited for: what is not on this phone takes as long as the network takes. */
async function showPicture(node, row, name) {
  const isThere = await putWhole(part(node, "picture"), row, name).catch(() => false);
  if (!isThere) fill(node, { picture: goneNode(row), mark: null });
}

/** What is gone is told as gone, and what to do. What was said and marked stays. */
function goneNode({ values: { copy } }) {
  const words = copy
    ? "The picture is not on this phone. It comes from your book when this phone is online; if the book has not got it, take it again. Its marks are still here."
    : "The picture is not on this phone, and was not copied to your book. If another of your devices has it, tick Copy to my book; if none has, take it again. Its marks are still here.";
  return fill(clone("notice"), { icon: icon("missed"), words });
}

async function standingParts(row) {
  const now = (await store.get("photo", row.id)) ?? row;
  row.values = now.values;
  const standing = await standingOf(row).catch(() => null);
  return { "copy-state": row.values.copy && standing ? copyNodes(standing) : [] };
}

function copyNodes({ isHere, isInBook, refused }) {
  if (refused) return [icon("missed"), ` The book did not take it: ${refused}`];
  if (isInBook) return [icon("done"), " In your book."];
  return isHere ? [icon("open"), " It is sent after the next sync."] : [];
}

async function copy(row, isWanted, redraw) {
  await saidAgain(row.values.sha256).catch(console.warn);
  await store.write("photo", row.id, { copy: isWanted });
  await redraw();
}

async function usePortrait(dog, row, isWanted) {
  await store.write("dog", dog.id, { portrait: isWanted ? row.values.sha256 : null });
  say(isWanted ? "Shown on the dog's page." : "No longer shown on the dog's page.");
}

/** A portrait is a photo of the dog: with the photo it goes. */
async function remove(dog, row) {
  const now = await store.get("dog", dog.id);
  /** @type {{kind: string, id: string, values: object}[]} */
  const writes = [{ kind: "photo", id: row.id, values: { deleted: true } }];
  if (now?.values.portrait && now.values.portrait === row.values.sha256)
    writes.push({ kind: "dog", id: dog.id, values: { portrait: null } });
  await store.writeAll(writes);
  dispatchEvent(new HashChangeEvent("hashchange")); // this address now shows that it was removed
  say("Photo removed.");
}

function removedNode(row, dog) {
  const node = fill(clone("photo-removed"), { back: icon("back") });
  for (const name of ["back", "onward"]) part(node, name).href = `#/dog/${dog.id}/photos`;
  return on(node, "restore", async () => {
    await store.write("photo", row.id, { deleted: false });
    dispatchEvent(new HashChangeEvent("hashchange"));
    say("Brought back.");
  });
}
