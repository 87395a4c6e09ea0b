// What lies over a station in the ring, for a moment: its lines in full, all stations, a note.

import { clone, fill, icon, on, part, text } from "../dom.js";
import { rowsOf } from "./guard.js";
import { askSections, cautionLines, lineNode, section } from "./lines.js";
import { notesNode } from "./notes.js";

/** A sheet with `title` and the nodes of `body`; it tells when it goes on below what is seen, and,
    where it has the room for it, what was done last. */
export function sheetNode(title, body, close, hasLast = false) {
  const parts = { title, body, below: [icon("down"), " More below"] };
  const sheet = fill(clone("ring-sheet"), { ...parts, last: hasLast && "" });
  const room = part(sheet, "body");
  const look = () => {
    part(sheet, "below").hidden = room.scrollTop + room.clientHeight >= room.scrollHeight - 8;
  };
  room.addEventListener("scroll", look, { passive: true });
  const watch = new ResizeObserver(look);
  for (const element of [room, ...room.children]) watch.observe(element);
  sheet.addEventListener("keydown", (event) => event.key === "Escape" && close());
  return on(sheet, "close", close);
}

/** A station in full: what the standard asks, then what the hands do, then the notes, veiled. */
export function moreBody(card, station, notes) {
  const leading = station.cues.find((cue) => !cue.own);
  const line = (cue, words, mark) => lineNode(card, cue, { words, mark });
  const body = [
    ...askSections(card, station),
    section("Do", "do", [line(leading, leading.do)]),
    ...(station.cautions.length ? [section("Take care", "care", cautionLines(card, station))] : []),
    section("Avoid", "avoid", [line(leading, leading.avoid, "notyet")]),
    ...veiled(notes),
  ];
  for (const node of body) plainSources(node);
  return body;
}

// In the ring a source is only named: it opens on the exam card, where there is time to read.
function plainSources(node) {
  for (const source of node.querySelectorAll("details.source")) {
    source.replaceWith(text("p", part(source, "source-name").textContent, "source"));
  }
}

/** Notes under a heading, none without. */
export const veiled = (notes) => (notes.length ? [text("h2", "Your notes"), notesNode(notes, { canEdit: false })] : []);

/** All stations by phase: `rowOf(step)` gives a row, `here` is the phase where the walk is. */
export function listBody(all, here, rowOf) {
  const phases = [...new Set(all.map((step) => step.phase))];
  return phases.flatMap((phase) => {
    const list = document.createElement("ol");
    list.className = "ring-list";
    list.toggleAttribute("data-here", phase === here);
    const own = all.filter((step) => step.phase === phase && !step.isEnd);
    list.append(...rowsOf(own, rowOf));
    return [text("h2", phase.name), list];
  });
}
