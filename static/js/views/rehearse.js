// Rehearse: the card at home, at the pace of an exam, with a mark for how each station went.

import { maySleep, stayAwake } from "../awake.js";
import { askedBy, headline } from "../core/walk.js";
import { ago, clockTime, few } from "../core/words.js";
import { cardOf, dogFile, stationsOf, walkStations } from "../dogfile.js";
import { clone, fill, icon, on, part, say, stationFigure, text } from "../dom.js";
import { holdCard } from "../installation.js";
import { rowsOf } from "../parts/guard.js";
import { askLines, cautionLines, lineNode, section } from "../parts/lines.js";
import { dogName } from "../parts/names.js";
import { newNote, notesNode } from "../parts/notes.js";
import { gradeButtons, readyRow } from "../parts/rows.js";
import { sessionFields } from "../parts/session.js";
import { explainTerms } from "../parts/terms.js";
import { waysIn } from "../parts/walkstart.js";
import { goInstead } from "../router.js";
import { wordsAtHand } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/rehearse": rehearseStart, "rehearsal/:id": rehearse };

const END = "end";

async function rehearseStart({ id }) {
  const file = await dogFile(id);
  if (!file) return null;
  const node = fill(clone("rehearse-start"), {
    back: icon("back"),
    title: `Rehearse: ${dogName(file.dog)}`,
    figure: stationFigure(file.base.figure, "outline"),
  });
  part(node, "back").href = `#/dog/${id}`;
  part(node, "ear").href = `#/dog/${id}/ear`;
  const said = sessionFields(node);
  const cameTo = (walk) => howFar(file, walk);
  await waysIn(node, file, "rehearse", { words: "Begin", cameTo, goTo: goInstead, said });
  return { node, title: "Rehearse" };
}

async function howFar(file, { id, values }) {
  const [marks, stations] = [await store.about("practice", id), stationsOf(cardOf(file, values.stations))];
  const last = marks.findLast(({ values }) => values.grade && values.at)?.values;
  const nameOf = (place) => stations.find((station) => station.id === place)?.name;
  return {
    far: marks.length ? `${few(new Set(marks.map((row) => row.values.station)).size, "station")} marked` : "",
    last: last ? `Last: ${nameOf(last.station) ?? last.station} ${last.grade}, ${ago(last.at)}` : "",
    place: nameOf(values.place) ? `at ${nameOf(values.place)}` : "at the end",
  };
}

async function rehearse({ id }) {
  const [walk, marked] = await Promise.all([store.get("walk", id), store.about("practice", id)]);
  const file = walk && !walk.values.deleted && (await dogFile(walk.values.dog));
  if (!file) return null;
  const terms = await wordsAtHand();
  const card = cardOf(file, walk.values.stations);
  const stations = walkStations(card, walk.values);
  const { hands } = walk.values;
  const release = holdCard();
  const isOfCard = (station) => stations.some(({ id: own }) => own === station);
  // A half mark, or one of a station that this card has not, is none; nor is there such a place.
  const wholeOf = (rows) =>
    rows.filter(({ values }) => values.grade && values.at && isOfCard(values.station)).reverse();
  const begun = walk.values.place;
  let place = begun === END || isOfCard(begun) ? begun : stations[0].id;
  let marks = wholeOf(marked);
  const stage = document.createElement("div");
  let since = performance.now();
  let busy = false;

  const index = () => stations.findIndex((station) => station.id === place);

  async function step(grade) {
    if (busy) return;
    busy = true;
    const here = stations[index()];
    const next = stations[index() + 1]?.id ?? END;
    const practice = grade && {
      kind: "practice",
      id: marks.find((row) => row.values.station === here.id)?.id ?? null,
      values: {
        ...{ dog: file.dog.id, walk: id, station: here.id, grade, at: new Date().toISOString() },
        ...(hands && { hands }),
      },
    };
    try {
      const moved = { kind: "walk", id, values: { place: next } };
      await store.writeAll(practice ? [practice, moved] : [moved]);
      place = next;
      await renew();
      say(grade ? `${here.name}: ${grade}.` : `${here.name} left out.`);
      draw();
    } catch (error) {
      fill(stage.firstElementChild, { trouble: `Not saved: ${error.message} Tap again.` });
    }
    busy = false;
  }

  async function undo() {
    const last = [...marks]
      .filter((row) => !row.values.deleted)
      .sort((one, other) => (one.values.at < other.values.at ? 1 : -1))[0];
    const to = last?.values.station ?? stations[Math.max(index() - 1, 0)].id;
    const back = { kind: "walk", id, values: { place: to } };
    await store.writeAll(last ? [{ kind: "practice", id: last.id, values: { deleted: true } }, back] : [back]);
    place = to;
    await renew();
    say("Undone.");
    draw();
  }

  async function renew() {
    marks = wholeOf(await store.about("practice", id));
  }

  function draw() {
    since = performance.now();
    stage.replaceChildren(index() < 0 ? endNode() : stationNode());
    scrollTo(0, 0);
    if (stage.isConnected) part(stage, index() < 0 ? "finish" : "easy").focus({ preventScroll: true });
  }

  function stationNode() {
    const here = stations[index()];
    const leading = here.cues.find((cue) => !cue.own);
    const notes = file.notes.filter((note) => note.values.station === here.id);
    const body = [
      here.cautions.length && section("Take care", "care", cautionLines(card, here)),
      section("Avoid", "avoid", [lineNode(card, leading, { mark: "notyet", words: leading.avoid })]),
      here.asks.length && section("What the standard asks", "asks", askLines(card, here)),
      notes.length && notesNode(notes, { canEdit: false }),
    ].filter(Boolean);
    const node = fill(clone("rehearse"), {
      back: icon("back"),
      station: here.name,
      figure: stationFigure(card.figure, here.id),
      headline: headline(here),
      asked: here.glance ? [text("b", askedBy(here)), ` ${here.glance}`] : null,
      do: leading.do,
      body,
      ask: `How did ${file.dog.values.name?.trim() || "the dog"} take it?`,
      clock: "0:00",
    });
    explainTerms(node, terms, ["do", "words", "more"]);
    part(node, "back").href = `#/dog/${file.dog.id}`;
    gradeButtons(node, step);
    on(node, "note", () => openNote(node, here));
    on(node, "undo", undo);
    part(node, "undo").disabled = index() === 0 && marks.length === 0;
    return on(node, "pass", () => step(null));
  }

  function openNote(node, here) {
    const form = newNote(file.dog.id, here.id, async () => {
      file.notes = await store.about("note", file.dog.id);
      fill(node, { "note-form": [] });
      part(node, "note").focus();
    });
    fill(node, { "note-form": form });
    part(form, "text").focus();
  }

  function endNode() {
    const grades = new Map([...marks].reverse().map((row) => [row.values.station, row.values]));
    const done = stations.filter((station) => grades.has(station.id));
    const work = done.filter((station) => grades.get(station.id).grade !== "easy");
    const node = fill(clone("rehearse-end"), {
      back: icon("back"),
      words: `${few(done.length, "station")} marked, ${few(work.length, "needs", "need")} more practice.`,
      ready: rowsOf(done, (station) => readyRow(file.dog.id, station, grades.get(station.id))),
    });
    part(node, "back").href = `#/dog/${file.dog.id}`;
    part(node, "practice").href = `#/dog/${file.dog.id}/practice`;
    part(node, "finish").href = `#/dog/${file.dog.id}`;
    return on(node, "finish", async (event) => {
      event.preventDefault();
      await store.write("walk", id, { ended: new Date().toISOString() });
      goInstead(`dog/${file.dog.id}`);
    });
  }

  const ticking = setInterval(() => {
    const place = part(stage, "clock");
    if (place) place.textContent = clockTime(performance.now() - since);
  }, 1_000);
  draw();
  return {
    node: stage,
    title: `Rehearse: ${dogName(file.dog)}`,
    refresh: () => {},
    shown: stayAwake,
    leave() {
      clearInterval(ticking);
      maySleep();
      release();
    },
  };
}
