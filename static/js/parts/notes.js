// Private notes: veiled until tapped, and veiled again by themselves, because nobody tells the
// ringside what is wrong with their dog. So are all texts that were written apart, until one is chosen.

import { apart, value } from "../core/merge.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { veilSeconds } from "../look.js";
import * as store from "../store.js";
import { drafting } from "./drafts.js";

/** The notes of one station; `redraw` is called after a change. `canEdit` is off in the ring. */
export function notesNode(notes, { canEdit = true, redraw = () => {} } = {}) {
  const box = document.createElement("div");
  box.className = "notes";
  box.replaceChildren(...notes.map((note) => veiled(note, "text", canEdit, redraw)));
  return box;
}

/** A text of any record that was written apart, to choose from; `name` says what it is. */
export const apartChoice = (row, field, name) => veiled(row, field, true, () => {}, `${name}: show both`);

function veiled(row, field, canEdit, redraw, name = "Changed on two phones: show both") {
  const isApart = Object.keys(apart(row.cells[field])).length > 0;
  const closed = isApart ? name : "Show note";
  const node = fill(clone("note"), { icon: icon("veil"), label: closed });
  const veil = part(node, "veil");
  const open = part(node, "open");
  let timer = null;

  function show(visible) {
    clearTimeout(timer);
    if (!visible && open.contains(document.activeElement)) veil.focus();
    open.hidden = !visible;
    veil.setAttribute("aria-expanded", String(visible));
    fill(node, { icon: icon(visible ? "unveil" : "veil"), label: visible ? "Hide note" : closed });
    // The text is in the page only while it may be read.
    if (isApart) fill(node, { text: visible ? [apartNode(row, field, redraw, canEdit)] : "" });
    else part(node, "text").textContent = visible ? row.values[field] || "This note has no text." : "";
    // Choosing between two texts takes longer than a glance.
    if (visible && !(isApart && canEdit))
      timer = setTimeout(() => node.isConnected && !editing() && show(false), veilSeconds() * 1000);
  }
  const editing = () => Boolean(node.querySelector("form"));

  on(node, "veil", () => show(open.hidden));
  if (isApart || !canEdit) {
    part(node, "edit").remove();
    part(node, "remove").remove();
    return node;
  }
  on(node, "edit", () => {
    clearTimeout(timer);
    const form = editor(row, redraw);
    open.replaceChildren(form);
    part(form, "text").focus();
  });
  on(node, "remove", async () => {
    await store.write("note", row.id, { deleted: true });
    say("Note removed. Bring it back in Settings, under Removed.");
    redraw();
  });
  return node;
}

function editor(note, done) {
  const form = clone("note-editor");
  const area = part(form, "text");
  area.value = note.values.text ?? "";
  const drafts = drafting(form, `note ${note.id}`, ["text"]);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const text = area.value.trim();
    if (!text) {
      part(form, "hint").textContent = "The note is empty. Write something, or cancel.";
      return;
    }
    try {
      await store.write("note", note.id, { text });
      await (await drafts).saved();
      say("Note saved.");
      done();
    } catch (error) {
      part(form, "hint").textContent = `Not saved: ${error.message} Your text is still here; try again.`;
    }
  });
  on(form, "leave", async () => {
    await (await drafts).saved();
    done();
  });
  return form;
}

function apartNode(row, field, redraw, canChoose) {
  const texts = [value(row.cells[field]), ...Object.values(apart(row.cells[field]))];
  const keep = async (text) => {
    await store.write(row.kind, row.id, { [field]: text });
    say("Saved.");
    redraw();
  };
  const node = clone("apart");
  const shown = texts.map((text) => {
    const one = fill(clone("apart-text"), { words: text });
    if (!canChoose) fill(one, { keep: null });
    return on(one, "keep", () => keep(text));
  });
  fill(node, { texts: shown });
  if (!canChoose) fill(node, { both: null });
  return on(node, "both", () => keep(texts.join("\n\n")));
}

/** The form for a new note on a station, for where there is no time: what is typed is a draft until
    it is kept, and gone from the page then. `kept` is called after that. */
export function newNote(dog, station, kept) {
  const form = clone("new-note");
  const area = part(form, "text");
  const drafts = drafting(form, `new note ${dog} ${station}`, ["text"]);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const text = area.value.trim();
    if (!text) {
      fill(form, { hint: "Write something first." });
      area.focus();
      return;
    }
    try {
      await store.write("note", null, { dog, station, text });
      area.value = "";
      await (await drafts).saved();
      say("Note saved and hidden.");
      kept();
    } catch (error) {
      fill(form, { hint: `Not saved: ${error.message} Your text is still here; try again.` });
    }
  });
  return form;
}
