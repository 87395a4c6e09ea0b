// What is typed into a form is kept as it is typed, and brought back when the form is opened again:
// after another screen, a kill or a week. It goes when it is saved or dropped.

import { ago } from "../core/words.js";
import { clone, fill, icon, on, say } from "../dom.js";
import * as store from "../store.js";

/** Keep the named fields of `form`, which shows what is saved, under `key`, and bring back what waits
    there. Gives `{saved, cameBack}`: call `saved` once it was; and whether something came back. */
export async function drafting(form, key, names) {
  let shown = typedIn(form, names);
  let kept = shown;
  let running = null;
  let told = null;
  const keep = () => {
    running ??= keepAll().finally(() => (running = null));
  };

  // One after the other; a key that is hit meanwhile is kept in the next round.
  async function keepAll() {
    for (let now = typedIn(form, names); !same(now, kept); now = typedIn(form, names)) {
      kept = now;
      const typed = names.filter((name) => now[name] !== shown[name]).map((name) => [name, now[name]]);
      // What cannot be kept is no reason to hold up who types: saving says what is wrong.
      await (typed.length ? store.putDraft(key, Object.fromEntries(typed)) : store.dropDraft(key)).catch(console.error);
    }
  }

  async function saved() {
    shown = kept = typedIn(form, names);
    told?.remove();
    await running;
    await store.dropDraft(key);
  }

  const waiting = await store.draft(key);
  if (waiting) {
    put(form, names, waiting.values);
    kept = typedIn(form, names);
    told = notice(waiting, async () => {
      put(form, names, shown);
      await saved();
      say("Discarded.");
    });
    form.prepend(told);
  }
  form.addEventListener("input", keep);
  form.addEventListener("change", keep);
  return { saved, cameBack: Boolean(waiting) };
}

function notice({ at }, drop) {
  const node = fill(clone("draft"), { icon: icon("work"), words: `You typed this ${ago(at)}.` });
  return on(node, "drop", drop);
}

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

const typedIn = (form, names) => Object.fromEntries(names.map((name) => [name, typedInto(form.elements[name])]));

const typedInto = (field) => (field.type === "checkbox" ? field.checked : field.value);

// Each field tells that it changed, because others may hang on it: the awards on the body.
function put(form, names, values) {
  for (const name of names) {
    const field = form.elements[name];
    if (!Object.hasOwn(values, name) || typedInto(field) === values[name]) continue;
    if (field.type === "checkbox") field.checked = values[name];
    else field.value = values[name];
    const teller = field instanceof RadioNodeList ? field[0] : field;
    teller.dispatchEvent(new Event("change", { bubbles: true }));
  }
}
