// Learn: how much of the card one knows, what is due today, and a first walk through it.

import { standing } from "../core/drill.js";
import { few, localDay } from "../core/words.js";
import { headline, placeWords } from "../core/walk.js";
import { stationsOf } from "../dogfile.js";
import { clone, fill, icon, on, part, say, stationFigure, text } from "../dom.js";
import { lessonOf } from "../lesson.js";
import { light, placedDrawing } from "../parts/drawing.js";
import { rowsOf } from "../parts/guard.js";
import { cautionLines, lineNode, section } from "../parts/lines.js";
import { explainTerms } from "../parts/terms.js";
import { go } from "../router.js";
import { allBreeds, wordsBook } from "../shipped.js";

export const routes = {
  learn,
  "breed/:breed/learn": learn,
  "dog/:id/learn": learn,
  "learn/walk": firstWalk,
  "breed/:breed/learn/walk": firstWalk,
  "dog/:id/learn/walk": firstWalk,
};

// All of a station is known, some of it, or none.
const SHAPES = { all: "easy", some: "work", none: "open" };

async function learn(address) {
  const lesson = await lessonOf(address);
  if (!lesson) return null;
  const { path, back, title, card, dog } = lesson;
  const rows = progressOf(lesson);
  const known = rows.filter(({ isDrawn, known, of }) => isDrawn && known === of).map(({ id }) => id);
  const picture = placedDrawing(card.figure, known, () => light(picture, known));
  const node = fill(clone("learn"), {
    back: icon("back"),
    title,
    figure: picture,
    progress: rowsOf(rows, progressRow),
  });
  fill(node, standingWords(lesson));
  part(node, "back").href = back;
  part(node, "begin").href = `#/${path}/round`;
  part(node, "walk").href = `#/${path}/walk`;
  if (dog) fill(node, { choice: null });
  else await breedChoice(part(node, "breed"), lesson.breed);
  return { node, title, live: true };
}

function standingWords({ items, states }) {
  const today = localDay();
  const count = (wanted) => items.filter(({ key }) => standing(states.get(key), today) === wanted).length;
  const [due, fresh] = [count("due"), count("new")];
  if (due) return { words: `${few(due, "thing")} due today.`, begin: "Start what is due" };
  if (fresh === items.length) return { words: "New here? Take the first walk.", begin: "Start a round" };
  if (fresh) return { words: `Nothing due today; ${fresh} still new.`, begin: "Learn new ones" };
  return { words: "Nothing due today.", begin: "Practise anyway" };
}

/** How many of a station's things are known and not due: [{id, name, known, of, isDrawn}]. */
function progressOf({ card, items, states }) {
  const today = localDay();
  return card.phases.flatMap((phase) =>
    phase.stations.map(({ id, name }) => {
      const own = items.filter(({ station }) => station === id);
      const known = own.filter(({ key }) => standing(states.get(key), today) === "known").length;
      return { id, name, known, of: own.length, isDrawn: phase.id === "exam" };
    }),
  );
}

function progressRow({ name, known, of }) {
  const share = known === of ? "all" : known ? "some" : "none";
  return fill(clone("learn-row"), { icon: icon(SHAPES[share]), station: name, count: `${known} of ${of}` });
}

async function breedChoice(select, chosen) {
  const breeds = await allBreeds();
  select.append(
    ...breeds.map(({ id, name }) => {
      const option = /** @type {HTMLOptionElement} */ (text("option", name));
      option.value = id;
      return option;
    }),
  );
  select.value = chosen?.id ?? "";
  select.addEventListener("change", () => {
    select.blur();
    go(select.value ? `breed/${select.value}/learn` : "learn");
  });
}

async function firstWalk(address) {
  const lesson = await lessonOf(address);
  if (!lesson) return null;
  const book = await wordsBook();
  const { card, path } = lesson;
  const stations = stationsOf(card);
  const stage = document.createElement("div");
  let at = 0;

  function step(by) {
    at += by;
    const node = at < stations.length ? stationNode() : endNode();
    part(node, "back").href = `#/${path}`;
    stage.replaceChildren(node);
    scrollTo(0, 0);
    if (by) stage.querySelector("h1")?.focus({ preventScroll: true });
  }

  function stationNode() {
    const here = stations[at];
    const leading = here.cues.find((cue) => !cue.own) ?? here.cues[0];
    const phase = card.phases.find(({ stations: own }) => own.includes(here));
    const node = fill(clone("learn-walk"), {
      back: icon("back"),
      name: here.name,
      place: placeWords(card, here.id),
      figure: stationFigure(card.figure, here.id),
      headline: headline(here),
      looks: [here === phase.stations[0] && `${phase.name}. ${phase.says}`, `The judge: ${here.looks}`]
        .filter(Boolean)
        .join(" "),
      body: [
        leading && section("Your hands", "do", [lineNode(card, leading, { words: leading.do, more: leading.why })]),
        here.cautions.length && section("Take care", "care", cautionLines(card, here)),
      ].filter(Boolean),
    });
    explainTerms(node, book, ["headline", "looks", "words"]);
    if (at === 0) part(node, "before").style.visibility = "hidden";
    say(here.name);
    return on(
      on(node, "before", () => step(-1)),
      "next",
      () => step(1),
    );
  }

  function endNode() {
    const node = fill(clone("learn-end"), {
      back: icon("back"),
      title: "First walk done",
      words: `${few(stations.length, "station")}, in the usual order.`,
      more: "Now answer ten short questions while it is fresh. That teaches more than reading it again.",
      onward: "Start a round",
    });
    part(node, "onward").href = `#/${path}/round`;
    part(node, "home").href = `#/${path}`;
    return node;
  }

  step(0);
  return { node: stage, title: "First walk" };
}
