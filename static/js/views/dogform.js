// A dog's particulars. Works without a signal: what is wrong is said beside the field, and nothing
// that was typed goes away.

import { knowledge } from "../cards.js";
import { problem } from "../core/check.js";
import { localDay } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { go, goInstead } from "../router.js";
import * as store from "../store.js";

const NAMED = {
  name: "The call name",
  breed: "The breed",
  sex: "The sex",
  born: "The day of whelping",
  pedigree: "The registered name",
};
const MISSING = {
  name: "Write the name you call the dog by.",
  breed: "Write the breed, or pick one from the list.",
  sex: "Choose dog or bitch: the exam differs.",
  born: "Enter the day the dog was whelped.",
};
const MOST_OPTIONS = 8;

export async function dogForm({ id }) {
  const [{ fields, breeds }, dog] = await Promise.all([knowledge(), id ? store.get(id) : null]);
  if (id && !dog) return null;
  const was = dog?.values ?? {};
  const node = fill(clone("dog-form"), { back: icon("back"), title: id ? `Edit ${was.name ?? "dog"}` : "New dog" });
  part(node, "back").href = id ? `#/dog/${id}` : "#/";
  const form = part(node, "form");
  const field = (name) => form.elements[name];
  const breedNamed = (words) => breeds.find((breed) => plain(breed.name) === plain(words));

  field("name").value = was.name ?? "";
  field("pedigree").value = was.pedigree ?? "";
  field("breed").value = breeds.find((breed) => breed.id === was.breed)?.name ?? was.breed ?? "";
  field("born").value = was.born ?? "";
  field("born").max = localDay();
  field("body").value = was.body ?? "FCI";
  field("short_faced").checked = Boolean(was.short_faced);
  for (const name of ["sex", "surface"]) if (was[name]) field(name).value = was[name];
  showShort();
  breedSearch(node, field("breed"), breeds, showShort);
  form.addEventListener("submit", save);
  if (id) on(node, "remove", remove);
  else fill(node, { remove: null });

  function showShort() {
    const known = breedNamed(field("breed").value);
    part(node, "short").hidden = Boolean(known) || !field("breed").value.trim();
    const usual = known ? `Usual for the ${known.name}: ${known.surface}. The judge decides.` : "";
    part(node, "hint-surface").textContent = usual || "Left open, we follow the usual habit of the breed. The judge decides.";
  }

  function read() {
    const words = field("breed").value.trim();
    const known = breedNamed(words);
    return {
      name: field("name").value.trim() || null,
      breed: known?.id ?? (words || null),
      sex: field("sex").value || null,
      born: field("born").value || null,
      surface: field("surface").value || null,
      body: field("body").value,
      pedigree: field("pedigree").value.trim() || null,
      short_faced: known ? null : field("short_faced").checked,
    };
  }

  async function save(event) {
    event.preventDefault();
    const values = read();
    const wrong = wrongs(values, fields.dog);
    tellWrongs(node, form, wrong);
    if (Object.keys(wrong).length) return;
    // An empty field of a new dog needs no change in the log; a cleared one of a known dog does.
    const kept = Object.fromEntries(Object.entries(values).filter(([name, value]) => value !== null || was[name] != null));
    try {
      const saved = await store.write("dog", id ?? null, kept);
      goInstead(`dog/${saved}`);
    } catch (error) {
      tell(node, `Not saved: ${error.message} Your entries are still here; try again.`);
    }
  }

  async function remove() {
    await store.write("dog", id, { deleted: true });
    say(`${was.name ?? "The dog"} was removed. Settings, Removed brings it back.`);
    go("");
  }

  return { node, title: id ? "Edit dog" : "New dog" };
}

function wrongs(values, declared) {
  const found = {};
  for (const [name, value] of Object.entries(values)) {
    if (value === null && declared[name].required) found[name] = MISSING[name];
    const reason = problem(declared[name], value);
    if (reason) found[name] = `${NAMED[name] ?? "This"} ${reason}.`;
  }
  if (values.born && values.born > localDay()) found.born = "That day is still to come. Look at the year.";
  else if (values.born && values.born < "1990-01-01") found.born = "That is longer ago than a dog lives. Look at the year.";
  return found;
}

function tellWrongs(node, form, wrong) {
  for (const hint of node.querySelectorAll(".hint.wrong")) {
    hint.textContent = "";
    hint.classList.remove("wrong");
  }
  for (const field of form.elements) field.removeAttribute?.("aria-invalid");
  const names = Object.keys(wrong);
  for (const name of names) {
    const hint = part(node, `hint-${name}`);
    hint.replaceChildren(icon("missed"), ` ${wrong[name]}`);
    hint.classList.add("wrong");
    for (const field of [form.elements[name]].flatMap((one) => (one instanceof RadioNodeList ? [...one] : [one]))) {
      field.setAttribute("aria-invalid", "true");
      field.setAttribute("aria-describedby", hint.id);
    }
  }
  tell(node, names.length ? `${names.length === 1 ? "One entry needs" : `${names.length} entries need`} a look. Nothing typed was lost.` : "");
  if (names.length) {
    const first = form.elements[names[0]];
    (first instanceof RadioNodeList ? first[0] : first).focus();
  }
}

function tell(node, words) {
  const place = part(node, "problem");
  place.textContent = words;
  place.hidden = !words;
}

// Letters only, so that "pembroke corgi" finds "Pembroke Welsh Corgi" whatever was typed around it.
const plain = (words) => words.toLowerCase().normalize("NFD").replace(/[^a-z ]/g, "").trim();

function breedSearch(node, input, breeds, chosen) {
  const list = part(node, "options");
  let active = -1;
  const options = () => [...list.children];

  function show() {
    const parts = plain(input.value).split(" ").filter(Boolean);
    const found = breeds.filter((breed) => parts.every((word) => plain(breed.name).includes(word)));
    const open = parts.length > 0 && found.length > 0 && !(found.length === 1 && plain(found[0].name) === plain(input.value));
    list.replaceChildren(...(open ? found.slice(0, MOST_OPTIONS).map(option) : []));
    list.hidden = !open;
    input.setAttribute("aria-expanded", String(open));
    mark(-1);
  }

  function option(breed, place) {
    const item = clone("option");
    item.id = `f-breed-option-${place}`;
    item.textContent = breed.name;
    item.addEventListener("pointerdown", (event) => event.preventDefault());
    item.addEventListener("click", () => pick(breed.name));
    return item;
  }

  function mark(place) {
    active = place;
    options().forEach((item, number) => item.setAttribute("aria-selected", String(number === active)));
    if (active < 0) input.removeAttribute("aria-activedescendant");
    else input.setAttribute("aria-activedescendant", options()[active].id);
    options()[active]?.scrollIntoView({ block: "nearest" });
  }

  function pick(name) {
    input.value = name;
    show();
    close();
    chosen();
  }

  function close() {
    list.hidden = true;
    input.setAttribute("aria-expanded", "false");
    mark(-1);
  }

  input.addEventListener("input", () => {
    show();
    chosen();
  });
  input.addEventListener("blur", close);
  input.addEventListener("keydown", (event) => {
    const count = options().length;
    if (event.key === "ArrowDown" && count) mark((active + 1) % count);
    else if (event.key === "ArrowUp" && count) mark((active - 1 + count) % count);
    else if (event.key === "Enter" && active >= 0) pick(options()[active].textContent);
    else if (event.key === "Escape" && !list.hidden) close();
    else return;
    event.preventDefault();
  });
}
