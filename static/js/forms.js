// Forms of records: read, checked by the book's declaration, and told what is wrong beside the
// field, by a sign and a sentence. Nothing typed goes away.

import { problem } from "./core/check.js";
import { icon, part } from "./dom.js";
import { drafting } from "./parts/drafts.js";

/** Put the values of a record into the fields of `form` that are named like them. */
export function show(form, values) {
  for (const [name, value] of Object.entries(values)) {
    const field = form.elements[name];
    if (!field || value == null) continue;
    if (field.type === "checkbox") field.checked = value;
    else field.value = String(value);
  }
}

/** Keep a word in sight that is none of the choices of `select`, and chosen: it is not lost by a look. */
export function keepUnknown(select, word) {
  if (!word || [...select.options].some((option) => option.value === word)) return;
  select.append(new Option(`${word} (not known here)`, word));
  select.value = word;
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
    if (value === null && declared[name].required) found[name] = missing[name] ?? "Fill this in.";
    const reason = problem(declared[name], value);
    if (reason) found[name] = `This ${reason}.`;
  }
  return found;
}

// What each form has asked about already: who saves again means it.
const answered = new WeakMap();

/** Show what is wrong and go there, where it `goes`. Gives whether all is well. What is {ask: sentence} may be right:
    it is asked about once, and taken when it is saved again.
    @param {Record<string, string | {ask: string}>} found */
export function allWell(node, form, found, goes = true) {
  const asked = answered.get(form) ?? {};
  const wrong = Object.fromEntries(
    Object.entries(found)
      .filter(([name, one]) => typeof one === "string" || one.ask !== asked[name])
      .map(([name, one]) => [name, typeof one === "string" ? one : `${one.ask} If it is right, save again.`]),
  );
  answered.set(
    form,
    Object.fromEntries(
      Object.entries(found).flatMap(([name, one]) => (typeof one === "string" ? [] : [[name, one.ask]])),
    ),
  );
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
      ? `${names.length === 1 ? "One field needs" : `${names.length} fields need`} a look. What you typed is still here.`
      : "",
  );
  if (goes && names.length) all(form.elements[names[0]])[0].focus();
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

/** On submit: check, keep with `save(values)`, and stay with a clear word if that fails. What is typed
    meanwhile is kept under `draft`, and brought back before this is done.
    @param {{missing?: Record<string, string>, extra?: (values: any) => any, draft?: string,
      save: (values: any) => Promise<unknown>}} how `extra` finds what the declaration does not know */
export async function onSave(node, form, names, declared, how) {
  const { missing = {}, extra = () => ({}), draft, save } = how;
  const drafts = draft ? await drafting(form, draft, names) : null;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const values = read(form, names, declared);
    const wrong = wrongs(values, declared, missing);
    if (!allWell(node, form, { ...wrong, ...(await extra(values)), ...wrong })) return;
    try {
      await save(values);
      await drafts?.saved();
    } catch (error) {
      tell(node, `Not saved: ${error.message} What you typed is still here; try again.`);
    }
  });
}
