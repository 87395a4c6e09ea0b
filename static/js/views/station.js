// One station in full: what the hands do, what to avoid, where someone can be hurt, what the
// standard asks with its source, and the handler's own lines.

import { cueProblem } from "../core/bounds.js";
import { headline, placeWords } from "../core/walk.js";
import { cardOf, dogFile, stationsOf, withReasons } from "../dogfile.js";
import { clone, fill, icon, on, part, say, stationFigure } from "../dom.js";
import { drafting } from "../parts/drafts.js";
import { rowsOf } from "../parts/guard.js";
import { askLines, cautionLines, lineNode, section } from "../parts/lines.js";
import { dogName } from "../parts/names.js";
import { notesNode } from "../parts/notes.js";
import { explainTerms } from "../parts/terms.js";
import { reasonsAtHand, rulesBook, wordsAtHand } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/station/:station": station };

const CUE_HINT = "Shown first at this station.";
const LISTS = ["notes", "cues", "asks"];
const FIELDS = { note: "note-text", cue: "cue-line", ask: "ask-says" };

async function station({ id, station: stationId }) {
  const [file, book, reasons, { bounds }] = await Promise.all([
    dogFile(id),
    wordsAtHand(),
    reasonsAtHand(),
    rulesBook(),
  ]);
  if (!file) return null;
  const card = withReasons(cardOf(file), reasons);
  const all = stationsOf(card);
  const place = all.findIndex((item) => item.id === stationId);
  if (place < 0) return null;
  const here = all[place];
  const node = fill(clone("station"), {
    back: icon("back"),
    name: here.name,
    place: placeWords(card, here.id),
    figure: stationFigure(card.figure, here.id),
    headline: headline(here),
    looks: `Judge: ${lower(here.looks)}`,
    body: bodyOf(card, here),
    dog: file.dog.values.name?.trim() || "this dog",
  });
  part(node, "back").href = `#/dog/${id}/card`;
  pager(node, "before", "back", id, all[place - 1]);
  pager(node, "after", "onward", id, all[place + 1]);
  explainTerms(node, book);
  await ownParts(node, file, stationId, bounds.cue.letters, (line) => cueProblem(bounds, line));
  return { node, title: `${here.name}: ${dogName(file.dog)}` };
}

/** The sections of a station: what leads first, the rest one tap away. */
function bodyOf(card, here) {
  const [leading, ...rest] = here.cues.filter((cue) => !cue.own && !cue.home);
  const home = here.cues.filter((cue) => cue.home);
  const parts = [
    section("What you do", "do", [lineNode(card, leading, { words: leading.do, more: leading.why })]),
    section("Avoid", "avoid", [lineNode(card, leading, { mark: "notyet", words: leading.avoid })]),
    here.cautions.length && section("Take care", "care", cautionLines(card, here)),
    here.asks.length && section("What the standard asks", "asks", askLines(card, here)),
    rest.length && moreOf(card, "More for hands and lead", rest),
    home.length && moreOf(card, "Practise at home", home),
  ];
  return parts.filter(Boolean);
}

function moreOf(card, title, cues) {
  const lines = cues.map((cue) =>
    lineNode(card, cue, { words: cue.do, more: `Avoid: ${lower(cue.avoid)} ${cue.why}` }),
  );
  return fill(clone("more-lines"), { title: `${title} (${cues.length})`, list: lines });
}

const lower = (words) => words.charAt(0).toLowerCase() + words.slice(1);

function pager(node, name, drawing, id, other) {
  if (!other) {
    part(node, name).style.visibility = "hidden";
    return;
  }
  const words = document.createElement("span");
  words.textContent = other.name;
  fill(node, { [name]: name === "before" ? [icon(drawing), words] : [words, icon(drawing)] });
  part(node, name).href = `#/dog/${id}/station/${other.id}`;
}

async function ownParts(node, file, stationId, glance, longCue) {
  const id = file.dog.id;
  const here = (row) => row.values.station === stationId;

  async function redraw() {
    const fresh = await dogFile(id);
    if (fresh) draw(fresh);
  }

  function draw(now) {
    const notes = now.notes.filter(here);
    const held = LISTS.map((name) => part(node, name)).find((list) => list.contains(document.activeElement));
    fill(node, {
      notes: notes.length ? notesNode(notes, { redraw }) : "No note yet.",
      cues: rowsOf(now.cues.filter(here), (row) => ownRow(row, row.values.line, redraw)),
      asks: rowsOf(now.asks.filter(here), (row) => ownRow(row, row.values.says, redraw)),
    });
    // What had the focus may be gone now: go on from the heading above it.
    held?.previousElementSibling.focus({ preventScroll: true });
  }

  async function keep(kind, valuesOf, problem = (_) => null) {
    const [form, field, hint] = [`${kind}-form`, FIELDS[kind], `${kind}-hint`];
    const drafts = await drafting(part(node, form), `${kind} ${id} ${stationId}`, ["words"]);
    if (drafts.cameBack && kind === "note") fill(node, { "note-label": "Finish your note" });
    part(node, form).addEventListener("submit", async (event) => {
      event.preventDefault();
      const input = part(node, field);
      const words = input.value.trim();
      if (!words) {
        fill(node, { [hint]: "Write something first." });
        input.focus();
        return;
      }
      const reason = problem(words);
      if (reason) {
        fill(node, { [hint]: reason });
        input.focus();
        return;
      }
      try {
        await store.write(kind, null, valuesOf(words));
        input.value = "";
        await drafts.saved();
        fill(node, { [hint]: "Saved." });
        say("Saved.");
        await redraw();
      } catch (error) {
        fill(node, { [hint]: `Not saved: ${error.message} Your text is still here; try again.` });
      }
    });
  }

  await keep("note", (text) => ({ dog: id, station: stationId, text }));
  await keep("cue", (line) => ({ dog: id, station: stationId, line }), longCue);
  await keep("ask", (says) => ({ breed: file.dog.values.breed, station: stationId, says }));
  const line = part(node, "cue-line");
  line.maxLength = 80;
  line.addEventListener("input", () => {
    const length = [...line.value].length;
    fill(node, {
      "cue-hint": length > glance ? `${length} letters: more than ${glance} is too long for a glance.` : CUE_HINT,
    });
  });
  draw(file);
}

function ownRow(row, words, redraw) {
  const node = fill(clone("own-row"), { words: words?.trim() || "A line without words" });
  return on(node, "remove", async () => {
    await store.write(row.kind, row.id, { deleted: true });
    say("Removed. Bring it back in Settings, under Removed.");
    await redraw();
  });
}
