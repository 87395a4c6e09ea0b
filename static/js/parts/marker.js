// Who sets the marks: asked once and remembered on this phone. Marks of two people are never mixed.

import { clone, fill, icon, part } from "../dom.js";
import * as store from "../store.js";

const KEY = "who marks photos";

/** The name of who marks on this phone; "" until it was said. */
export const whoMarks = async () => (await store.draft(KEY))?.values.by ?? "";

/** The form that asks; `said(name)` is called once it is remembered. */
export function askWho(back, said) {
  const node = fill(clone("mark-who"), { back: icon("back") });
  part(node, "back").href = back;
  const form = part(node, "form");
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const by = form.elements.by.value.trim();
    const wrong = by ? "" : "Write a name first.";
    part(node, "hint").classList.toggle("wrong", Boolean(wrong));
    if (wrong) {
      fill(node, { hint: wrong });
      form.elements.by.focus();
      return;
    }
    await store.putDraft(KEY, { by }).catch(console.error);
    said(by);
  });
  return node;
}
