// Taking a photo, with one thumb: which view, how to stand and take it, and a look at what came of it.

import { dayProblem, reasons } from "../core/bounds.js";
import { localDay } from "../core/words.js";
import { cardOf, dogFile } from "../dogfile.js";
import { clone, fill, icon, part, say, text } from "../dom.js";
import { onSave, tell } from "../forms.js";
import { dogName } from "../parts/names.js";
import { hasFacing, putWhole, SAID, viewName, viewsAtHand } from "../parts/photo.js";
import { answersTo, shotOf, shotSaved, takeShot, waitingNode } from "../parts/shot.js";
import { viewDrawing } from "../parts/viewdrawing.js";
import { goInstead } from "../router.js";
import { kinds, rulesBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = {
  "dog/:id/photo": choose,
  "dog/:id/photo/:view": take,
  "dog/:id/photo/:view/look": look,
};

const VIEWS = ["side", "head-side", "head-front", "front", "above"];
// Where there are feet to be seen.
const ON_FEET = ["side", "front"];
const ASKED = ["sharp", "feet"];

async function choose({ id }) {
  const [file, book, shot] = await Promise.all([dogFile(id), viewsAtHand(), shotOf(id)]);
  if (!file) return null;
  const node = fill(clone("shot-views"), {
    back: icon("back"),
    unfinished: shot ? [waitingNode(id, shot, "It is not saved yet; a new one takes its place.")] : [],
    views: VIEWS.map((view) => viewRow(file, book, view)),
  });
  part(node, "back").href = `#/dog/${id}/photos`;
  return { node, title: `Photo of ${dogName(file.dog)}` };
}

function viewRow(file, book, view) {
  const node = fill(clone("shot-view"), {
    drawing: viewDrawing(cardOf(file).figure, view),
    name: viewName(book, view),
    icon: icon("onward"),
  });
  part(node, "link").href = `#/dog/${file.dog.id}/photo/${view}`;
  return node;
}

async function take({ id, view }) {
  const [file, book] = await Promise.all([dogFile(id), viewsAtHand()]);
  if (!file || !VIEWS.includes(view)) return null;
  const name = viewName(book, view);
  const node = fill(clone("shot-how"), {
    back: icon("back"),
    title: name,
    drawing: viewDrawing(cardOf(file).figure, view),
    how: (book.views[view]?.how ?? []).map((line) => text("li", line)),
  });
  part(node, "back").href = `#/dog/${id}/photo`;
  const inputs = ["camera", "file"].map((way) => part(node, way));
  for (const input of inputs) input.addEventListener("change", () => arrive(input));
  return { node, title: name };

  async function arrive(input) {
    const [picture] = input.files;
    if (!picture) return;
    tell(node, "");
    fill(node, { state: "Reading the picture…" });
    for (const one of inputs) one.disabled = true;
    try {
      await takeShot(id, view, picture);
      goInstead(`dog/${id}/photo/${view}/look`);
    } catch (error) {
      tell(node, `${error.message} Nothing else was lost.`);
    } finally {
      for (const one of inputs) one.disabled = false;
      input.value = ""; // or the same picture could not be chosen again
      fill(node, { state: "" });
    }
  }
}

async function look({ id, view }) {
  const [dog, book, shot, { photo: declared }, { bounds }] = await Promise.all([
    store.get("dog", id),
    viewsAtHand(),
    shotOf(id),
    kinds(),
    rulesBook(),
  ]);
  if (!dog || dog.values.deleted || !shot || !VIEWS.includes(view)) return null;
  const { day, isBlurred, ...facts } = shot.values;
  const name = viewName(book, view);
  const node = fill(clone("shot-look"), { back: icon("back"), title: name });
  part(node, "back").href = `#/dog/${id}/photos`;
  for (const link of ["again", "again-now"]) part(node, link).href = `#/dog/${id}/photo/${view}`;
  const form = part(node, "form");
  form.elements.day.max = localDay();
  form.elements.day.value = day && day <= localDay() ? day : localDay();
  if (!isBlurred) fill(node, { blurred: null });
  else part(node, "blurred").prepend(icon("caution"));
  part(node, "feet-field").hidden = !ON_FEET.includes(view);
  part(node, "facing-field").hidden = !hasFacing(view);
  form.addEventListener("change", advise);
  if (!(await putWhole(part(node, "picture"), { sha256: facts.sha256 }, `${dogName(dog)}: ${name}`))) {
    const words = "The picture is gone from this phone. Take it again.";
    fill(node, { picture: fill(clone("notice"), { icon: icon("missed"), words }) });
    part(node, "save").disabled = true;
  }
  const asked = { sharp: { type: "flag" }, feet: { type: "flag" } };
  await onSave(
    node,
    form,
    [...ASKED, ...SAID],
    { ...declared.fields, ...asked },
    {
      missing: { day: "Enter the day." },
      draft: answersTo(facts),
      extra: (values) => ({
        ...unanswered(view, values),
        ...reasons({ day: dayProblem(bounds, values.day, { born: dog.values.born, today: localDay() }) }),
      }),
      save: async ({ sharp, feet, ...said }) => {
        const values = { dog: id, ...facts, view, ...said };
        const photo = await store.write("photo", null, withoutNothing(values));
        await shotSaved(id);
        say("Photo saved.");
        goInstead(`photo/${photo}/mark`);
      },
    },
  );
  advise();
  return { node, title: name };

  function advise() {
    part(node, "advice").hidden = !ASKED.some((question) => form.elements[question].value === "false");
  }
}

const withoutNothing = (values) =>
  Object.fromEntries(Object.entries(values).filter(([, value]) => value !== null && value !== false));

function unanswered(view, { sharp, feet, facing }) {
  const found = {};
  if (sharp === null) found.sharp = "Look at the picture and answer.";
  if (ON_FEET.includes(view) && feet === null) found.feet = "Look at the picture and answer.";
  if (hasFacing(view) && facing === null) found.facing = "Choose the way its nose points.";
  return found;
}
