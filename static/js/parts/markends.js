// What comes after the marks of a photo: a look at all of them, what was done, and what cannot be.

import { sayDay } from "../core/days.js";
import { held } from "../core/held.js";
import { readMarks } from "../core/photomarks.js";
import { few } from "../core/words.js";
import { clone, fill, icon, on, part } from "../dom.js";
import { drawMarked } from "./photolines.js";

/** What draws the marks into a node's picture when it stands on the page; keys move nothing there. */
const still = (node, told) => ({ node, canvas: { draw: () => drawMarked(part(node, "stage"), told), nudge() {} } });

/** All marks are set. `acts` has {back, more, done}, and `to(mark)` to go to one of them. */
export function endStep({ photo, picture, atlas, book }, { marks, more }, steps, acts) {
  const unseen = steps.filter((id) => held(marks, id) === null);
  const rest = book.marks.length - steps.length;
  const node = fill(clone("mark-end"), {
    back: icon("back"),
    words: [
      `${few(steps.length - unseen.length, "mark")} set.`,
      unseen.length ? `Cannot be seen: ${unseen.map((id) => atlas.marks[id].name.toLowerCase()).join(", ")}.` : "",
      "Look once more: after Done they are not changed.",
    ].join(" "),
    more: !more && rest > 0 && `More marks: ${rest}`,
    list: steps.map((id) => on(stepRow(atlas.marks[id].name, held(marks, id)), "act", () => acts.to(id))),
  });
  for (const act of ["back", "more"]) on(node, act, acts[act]);
  on(node, "done", () => acts.done(node));
  return still(node, { picture, photo: photo.values, marks });
}

const stepRow = (name, mark) =>
  fill(clone("mark-step"), {
    icon: icon(mark ? "done" : "skipped"),
    words: mark ? name : `${name}: cannot be seen`,
  });

/** What a person has done on a photo, `rounds` (rows), and what may come next: `acts` has {more, again, who}. */
export function doneStep({ photo, who, picture, book }, rounds, acts) {
  const marks = readMarks(rounds[rounds.length - 1].values.marks);
  const rest = book.marks.filter((id) => !(id in marks)).length;
  const { day, dog } = photo.values;
  const times = rounds.length > 1 ? `, ${rounds.length} times` : "";
  const node = fill(clone("mark-done"), {
    back: icon("back"),
    words: `${day ? `${sayDay(day)}: m` : "M"}arked by ${who}${times}.`,
    more: rest > 0 && `More marks: ${rest}`,
  });
  part(node, "back").href = `#/dog/${dog}/photos`;
  part(node, "proportions").href = `#/dog/${dog}/proportions`;
  for (const [name, act] of Object.entries(acts)) on(node, name, act);
  return still(node, { picture, photo: photo.values, marks });
}

/** In words, where nothing can be marked. */
export function toldStep({ photo }, title, words) {
  const node = fill(clone("mark-told"), { back: icon("back"), title, words });
  for (const name of ["back", "photos"]) part(node, name).href = `#/dog/${photo.values.dog}/photos`;
  part(node, "proportions").href = `#/dog/${photo.values.dog}/proportions`;
  return { node, canvas: null };
}

/** The picture is not to be had: what to do, and what stays. */
export const goneWords = (isMarked) =>
  [
    "This phone does not have the picture, and the book has no copy.",
    isMarked ? "Its marks are still here and still give proportions." : "",
    "Open Ringside on the phone that took it, and copy it to your book there. If it is gone, take a new photo.",
  ].join(" ");
