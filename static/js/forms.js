// Forms of records: read, checked by the book's declaration, and told what is wrong beside the
// field, by a sign and a sentence. Nothing typed goes away.

import { problem } from "./core/check.js";
import { icon, part } from "./dom.js";

/** Put the values of a record into the fields of `form` that are named like them. */
export function show(form, values) {
  for (const [name, value] of Object.entries(values)) {
    const field = form.elements[name];
    if (!field || value == null) continue;
    if (field.type === "checkbox") field.checked = value;
    else field.value = String(value);
  }
}

/** The values of the named fields: text trimmed, numbers as numbers, empty as null. */
export function read(form, names, declared) {
  return Object.fromEntries(names.map((name) => [name, readOne(form.elements[name], declared[name])]));
}

function readOne(field, { type }) {
  if (field.type === "checkbox") return field.checked;
  const words = field.value.trim();
  if (!words) return null;
  if (type === "flag") return words === "true";
  if (type !== "number") return words;
  const number = Number(words.replace(",", "."));
  return Number.isNaN(number) ? words : number;
}

/** {name: sentence} for what is missing or cannot be kept. */
export function wrongs(values, declared, missing) {
  const found = {};
  for (const [name, value] of Object.entries(values)) {
    if (value === null && declared[name].required) found[name] = missing[name] ?? "This is needed.";
    const reason = problem(declared[name], value);
    if (reason) found[name] = `This ${reason}.`;
  }
  return found;
}

/** Show what is wrong and go there. Gives whether all is well. */
export function allWell(node, form, wrong) {
  for (const hint of node.querySelectorAll(".hint.wrong")) {
    hint.textContent = hint.dataset.usual ?? "";
    hint.classList.remove("wrong");
  }
  for (const field of form.elements) field.removeAttribute?.("aria-invalid");
  const names = Object.keys(wrong);
  for (const name of names) tellOne(node, form.elements[name], name, wrong[name]);
  tell(
    node,
    names.length
      ? `${names.length === 1 ? "One entry needs" : `${names.length} entries need`} a look. Nothing typed was lost.`
      : "",
  );
  if (names.length) all(form.elements[names[0]])[0].focus();
  return names.length === 0;
}

const all = (field) => (field instanceof RadioNodeList ? [...field] : [field]);

function tellOne(node, field, name, words) {
  const hint = part(node, `hint-${name}`);
  hint.dataset.usual ??= hint.textContent;
  hint.replaceChildren(icon("missed"), ` ${words}`);
  hint.classList.add("wrong");
  hint.id ||= `hint-${name}`;
  for (const one of all(field)) {
    one.setAttribute("aria-invalid", "true");
    one.setAttribute("aria-describedby", hint.id);
  }
}

/** One sentence above the form; none hides the place. */
export function tell(node, words) {
  const place = part(node, "problem");
  place.textContent = words;
  place.hidden = !words;
}

/** What of `values` is worth writing: all that is set, and what was set before and is cleared. */
export const worthWriting = (values, before) =>
  Object.fromEntries(Object.entries(values).filter(([name, value]) => value !== null || before[name] != null));

/** On submit: check, keep with `save(values)`, and stay with a clear word if that fails.
    @param {{missing?: Record<string, string>, extra?: (values: any) => object,
      save: (values: any) => Promise<unknown>}} how `extra` finds what the declaration does not know */
export function onSave(node, form, names, declared, how) {
  const { missing = {}, extra = () => ({}), save } = how;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const values = read(form, names, declared);
    if (!allWell(node, form, { ...wrongs(values, declared, missing), ...extra(values) })) return;
    try {
      await save(values);
    } catch (error) {
      tell(node, `Not saved: ${error.message} Your entries are still here; try again.`);
    }
  });
}
