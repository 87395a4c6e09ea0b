// Practice: how ready the dog is at each station, what to work on next and why, and a way straight in.

import { readiness, readyWords, stateOf } from "../core/practice.js";
import { ago } from "../core/words.js";
import { dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, text } from "../dom.js";
import { rowsOf } from "../parts/guard.js";
import { careSection, lineNode } from "../parts/lines.js";
import { dogName } from "../parts/names.js";
import { badgeIcon, standingDrawing, STATES, trend, trendWords } from "../parts/standing.js";
import { beginSession } from "../parts/walkstart.js";
import { practiceOf, workWords } from "../practice.js";
import { go } from "../router.js";
import { homeBook } from "../shipped.js";

export const routes = { "dog/:id/practice": practice };

const WHOSE = { all: "All marks", stranger: "For a stranger" };
const HANDS = {
  own: "Use your own hands first.",
  known: "Ask someone the dog knows to do it.",
  stranger: "Ask a stranger to do it.",
};
const WHO = { own: "your own hands", known: "someone the dog knows", stranger: "a stranger's hands" };
const STRICT = { 1.5: "what is wrong there can disqualify", 1.25: "a fault there is a serious one" };
let whose = "all";

async function practice({ id }) {
  const file = await dogFile(id);
  if (!file) return null;
  const [{ card, places, next, chosen, isMarked }, { practice: known }] = await Promise.all([
    practiceOf(file),
    homeBook(),
  ]);
  const node = fill(clone("practice"), {
    back: icon("back"),
    title: `Practice: ${dogName(file.dog)}`,
    lead: isMarked ? workWords(chosen) : "No marks yet.",
    reasons: isMarked
      ? chosen.slice(0, next.work.length).map(reasonNode)
      : [text("li", "Rehearse once, and this page says what to work on.")],
    hands:
      isMarked && `${HANDS[next.hands]} ${next.minutes.join(" to ")} minutes, then stop while the dog still enjoys it.`,
    last: lastWords(file.walks.get("rehearse")?.values),
    begin: isMarked,
    rehearse: !isMarked,
    known: known.evidence.map((line) =>
      lineNode(known, line, { words: line.says, more: line.weak && "Weak evidence." }),
    ),
    care: careSection(card, known),
  });
  part(node, "back").href = `#/dog/${id}`;
  if (!isMarked) part(node, "rehearse").href = `#/dog/${id}/rehearse`;
  part(node, "ear").href = `#/dog/${id}/ear`;
  part(node, "floor").href = `#/dog/${id}/floor`;
  fill(node, { whose: Object.entries(WHOSE).map(([value, words]) => whoseChoice(value, words, draw)) });
  on(node, "begin", async () =>
    go(await beginSession(file, { stations: chosen.map((place) => place.id), only: true })),
  );

  function draw() {
    const rows = rowsFor(card, places);
    fill(node, {
      figure: standingDrawing(
        card.figure,
        rows.filter(({ number }) => number),
      ),
      rows: rowsOf(rows, (row) => rowNode(id, row)),
    });
  }
  draw();
  return { node, title: "Practice", live: true };
}

/** [{...station, state, number, ready}]: stations of the exam are numbered as they are drawn. */
function rowsFor(card, places) {
  const exam = card.phases.find((phase) => phase.id === "exam")?.stations ?? [];
  return places.map((place) => {
    const ready = readiness(place.sums, Date.now(), whose === "stranger");
    return { ...place, ready, state: stateOf(ready), number: exam.findIndex(({ id }) => id === place.id) + 1 };
  });
}

function rowNode(dog, { id, name, state, number, ready, sums }) {
  const node = fill(clone("practice-row"), {
    badge: badgeIcon(state, number),
    station: name,
    state: STATES[state],
    words: state === "none" ? null : readyWords(ready),
    trend: sums.last.length ? trend(sums.last) : null,
    last: trendWords(sums.last) || null,
  });
  part(node, "link").href = `#/dog/${dog}/station/${id}`;
  return node;
}

function reasonNode({ name, sums, counts, named }) {
  const facts = [readyWords(readiness(sums, Date.now())), STRICT[counts], named && "named in a recent result"];
  return fill(clone("practice-reason"), { name: `${name}: `, words: `${facts.filter(Boolean).join("; ")}.` });
}

/** When, where and under whose hands the last session was. */
function lastWords(walk) {
  if (!walk?.began) return null;
  return `Last session: ${[ago(walk.began), walk.where, WHO[walk.hands]].filter(Boolean).join(", ")}.`;
}

function whoseChoice(value, words, draw) {
  const node = fill(clone("choice"), { words });
  const input = part(node, "input");
  input.name = "whose";
  input.value = value;
  input.checked = whose === value;
  input.addEventListener("change", () => {
    whose = value;
    draw();
  });
  return node;
}
