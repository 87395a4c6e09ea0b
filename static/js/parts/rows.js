// Rows of lists that lead somewhere.

import { ago } from "../core/words.js";
import { clone, fill, icon, on, part, text } from "../dom.js";

/** How a station went in practice. */
export const GRADES = {
  easy: { icon: "easy", words: "Easy" },
  "needs work": { icon: "work", words: "Needs work" },
  "not yet": { icon: "notyet", words: "Not yet" },
};

/** Have the button of each grade in `node` say it and do `act(grade)`. */
export function gradeButtons(node, act) {
  for (const [grade, { icon: name, words }] of Object.entries(GRADES)) {
    fill(node, { [name]: [icon(name), text("span", words)] });
    on(node, name, () => act(grade));
  }
}

export function readyRow(dogId, station, { grade, at }) {
  const node = fill(clone("ready-row"), {
    icon: icon(GRADES[grade].icon),
    station: station.name,
    grade: `${GRADES[grade].words}, ${ago(at)}`,
  });
  part(node, "link").href = `#/dog/${dogId}/station/${station.id}`;
  return node;
}

export function linkRow(href, words) {
  const node = fill(clone("link-row"), { words, icon: icon("onward") });
  part(node, "link").href = href;
  return node;
}
