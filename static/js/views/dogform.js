// A dog's particulars. Works without a signal: what is wrong is said beside the field, and nothing
// that was typed goes away.

import { dayProblem, reasons } from "../core/bounds.js";
import { breedNamed } from "../core/breeds.js";
import { checkChip } from "../core/chip.js";
import { isSure, sameBy } from "../core/samedog.js";
import { localDay } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { allWell, keepUnknown, read, show, tell, worthWriting, wrongs } from "../forms.js";
import { breedField, meant, offerVarieties } from "../parts/breedfield.js";
import { drafting } from "../parts/drafts.js";
import { lastBody } from "../parts/lastbody.js";
import { go, goInstead } from "../router.js";
import { kinds, namedBreeds, rulesBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/new": dogForm, "dog/:id/edit": dogForm };

const MISSING = {
  name: "Write the name you call the dog by.",
  breed: "Write the breed, or pick one from the list.",
  sex: "Choose dog or bitch. The exam differs.",
  born: "Enter the date of birth.",
};
const NAMES = [
  "name",
  "breed",
  "variety",
  "sex",
  "born",
  "surface",
  "body",
  "pedigree",
  "short_faced",
  "microchip",
  "registration",
  "testes",
  "testes_on",
  "neutered",
  "trial",
  "section",
];

async function dogForm({ id }) {
  const [breeds, { dog: declared }, { bounds }, dog, body] = await Promise.all([
    namedBreeds(),
    kinds(),
    rulesBook(),
    id ? store.get("dog", id) : null,
    id ? "FCI" : lastBody("dog"),
  ]);
  if (id && (!dog || dog.values.deleted)) return null;
  const was = dog?.values ?? {};
  const node = fill(clone("dog-form"), { back: icon("back"), title: id ? `Edit ${was.name ?? "dog"}` : "New dog" });
  part(node, "back").href = id ? `#/dog/${id}` : "#/";
  const form = part(node, "form");
  const field = (name) => form.elements[name];

  const breed = breeds.find(({ id }) => id === was.breed);
  offerVarieties(node, field("variety"), breed);
  show(form, { body, ...was, breed: breed?.name ?? was.breed });
  field("born").max = localDay();
  field("testes_on").max = localDay();
  keepUnknown(field("variety"), was.variety);
  // A draft brings the breed back before its variety, which must then be on offer.
  field("breed").addEventListener("change", showBreed);
  const drafts = await drafting(form, `dog ${id ?? "new"}`, NAMES);
  showBreed();
  breedField(node, field("breed"), breeds, showBreed);
  form.addEventListener("submit", save);
  form.addEventListener("change", showMale);
  showMale();
  chipAdvice(node, field("microchip"));
  if (id) {
    fill(node, { litter: null });
    on(node, "remove", remove);
  } else {
    fill(node, { remove: null });
    field("name").addEventListener("keydown", onward);
  }

  // The key says "next", and the form is not complete yet.
  function onward(event) {
    if (event.key !== "Enter") return;
    event.preventDefault();
    field("breed").focus();
  }

  function showBreed() {
    const { known, isStrange } = meant(breeds, field("breed").value);
    if (known || isStrange) offerVarieties(node, field("variety"), known);
    part(node, "short").hidden = !isStrange;
    part(node, "hint-surface").textContent = known
      ? `Usual for the ${known.name}: ${known.surface}. The judge decides.`
      : "As usual for the breed. The judge decides.";
  }

  function showMale() {
    part(node, "male").hidden = field("sex").value !== "dog";
  }

  async function save(event) {
    event.preventDefault();
    const typed = read(form, NAMES, declared.fields);
    const known = typed.breed && breedNamed(breeds, typed.breed);
    /** @type {{[name: string]: any}} */
    const values = {
      ...typed,
      breed: known?.id ?? typed.breed,
      variety: known?.varieties.includes(typed.variety) || known?.id === was.breed ? typed.variety : null,
      short_faced: known ? null : typed.short_faced,
      neutered: typed.neutered || was.neutered != null ? typed.neutered : null,
      trial: typed.trial || was.trial != null ? typed.trial : null,
      ...(typed.sex === "bitch" ? { testes: null, testes_on: null } : {}),
    };
    const wrong = { ...wrongs(values, declared.fields, MISSING), ...dayProblems(bounds, values) };
    if (!allWell(node, form, { ...wrong, ...(await twins(id, values)), ...wrong })) return;
    try {
      const saved = await store.write("dog", id ?? null, worthWriting(values, was));
      await drafts.saved();
      say(`${values.name} was saved.`);
      goInstead(`dog/${saved}`);
    } catch (error) {
      tell(node, `Not saved: ${error.message} What you typed is still here; try again.`);
    }
  }

  async function remove() {
    await store.write("dog", id, { deleted: true });
    say(`${was.name ?? "The dog"} was removed. Bring it back in Settings, under Removed.`);
    go("");
  }

  const shown = () => !id && !drafts.cameBack && field("name").focus();
  return { node, title: id ? "Edit dog" : "New dog", shown };
}

/** @param {any} values */
function dayProblems(bounds, values) {
  const { born, testes_on: felt } = values;
  const today = localDay();
  return reasons({
    born: dayProblem(bounds, born, { today }),
    testes_on: dayProblem(bounds, felt, { born, today }),
  });
}

const FIELDS = { microchip: "microchip", "registration number": "registration" };

/** What another dog of the kennel has already: {field: sentence}, or what to ask.
    @returns {Promise<Record<string, string | {ask: string}>>} */
async function twins(id, values) {
  for (const other of await store.all("dog")) {
    const by = other.id === id ? "" : sameBy(values, other.values);
    if (!by) continue;
    const name = other.values.name ?? "Another dog";
    if (!isSure(by)) return { name: { ask: `${name}, born that day, is already in the book.` } };
    return { [FIELDS[by] ?? "pedigree"]: `${name} has this ${by} already. One of them is wrong.` };
  }
  return {};
}

// Only advice: the number is kept as it was typed.
async function chipAdvice(node, input) {
  const { chips } = await rulesBook();
  const advise = () => {
    const { fine, message } = checkChip(input.value, chips);
    const advice = fine ? message : `${message} Save again to keep it as typed.`;
    part(node, "hint-microchip").replaceChildren(
      ...(input.value.trim() ? [icon(fine ? "done" : "missed"), ` ${advice}`] : []),
    );
  };
  input.addEventListener("input", advise);
  advise();
}
