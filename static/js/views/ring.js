// Ring: one station a screen, for one hand and two seconds. Nothing here waits for disk or network,
// asks back, or pops up; everything can be undone, and a killed app comes back to the same station.
// The rules it follows are numbered in the tests (tests/browser/test_glance.py).

import { maySleep, stayAwake } from "../awake.js";
import { headline, position, settled, states, steps } from "../core/walk.js";
import { uuid7 } from "../core/ids.js";
import { ago } from "../core/words.js";
import { cardOf, dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say, stationFigure, text } from "../dom.js";
import { holdCard } from "../installation.js";
import { rowsOf } from "../parts/guard.js";
import { askLines, cautionLines, lineNode, section } from "../parts/lines.js";
import { dogName } from "../parts/names.js";
import { notesNode } from "../parts/notes.js";
import { beginWalk, orderChoices } from "../parts/walkstart.js";
import { go, goInstead } from "../router.js";
import * as store from "../store.js";
import { writesInLine } from "../writes.js";

export const routes = { "dog/:id/ring": ringStart, "ring/:id": ring };

const GUARD = 400;
const RESTORABLE = 30 * 24 * 60 * 60_000;
const STATES = { done: "done", skipped: "skipped", missed: "missed", open: "to come", here: "now" };

async function ringStart({ id }) {
  const file = await dogFile(id);
  if (!file) return null;
  const awake = await stayAwake();
  const node = fill(clone("ring-start"), {
    back: icon("back"),
    title: `Ring: ${dogName(file.dog)}`,
    figure: stationFigure(file.base.figure, "outline"),
    awake: awake
      ? null
      : "This phone will not let the screen stay on. Set its screen time-out longer before you go in.",
    ...againParts(file),
    go: "Go in",
  });
  part(node, "back").href = `#/dog/${id}`;
  on(node, "again", async () => {
    const { id: walk } = lastEnded(file);
    await store.write("walk", walk, { ended: null });
    goInstead(`ring/${walk}`);
  });
  const chosen = orderChoices(node, file);
  on(node, "go", async () => goInstead(await beginWalk(file, "ring", chosen())));
  return { node, title: "Ring", leave: maySleep };
}

// Finishing asks nothing, so it can be taken back.
function lastEnded(file) {
  const walk = file.walks.get("ring");
  return walk?.values.ended && Date.now() - Date.parse(walk.values.ended) < RESTORABLE ? walk : null;
}

function againParts(file) {
  const last = lastEnded(file);
  return { again: last && `Back into the last one, finished ${ago(last.values.ended)}` };
}

async function ring({ id }) {
  const walk = await store.get("walk", id);
  const file = walk && !walk.values.deleted && (await dogFile(walk.values.dog));
  if (!file) return null;
  const card = cardOf(file, walk.values.stations);
  const all = steps(card);
  // A half tick, or one of a station that this card has not, is none.
  const isOfCard = ({ values }) => values.state && values.at && all.some((step) => step.id === values.station);
  const ticks = new Map(
    (await store.about("tick", id)).filter(isOfCard).map((row) => [row.values.station, { id: row.id, ...row.values }]),
  );
  const release = holdCard();

  const stage = document.createElement("div");
  stage.className = "ring-stage";
  let place = walk.values.place;
  let view = null;
  let sheet = null;
  let guardedUntil = 0;
  const writes = writesInLine(showSync);

  const byStation = () => states([...ticks.values()]);
  const now = () => position(all, place, byStation());

  // --- what a tap does: the screen first, the store after it

  const guarded = (act) => () => {
    if (performance.now() < guardedUntil) return;
    guardedUntil = performance.now() + GUARD;
    act();
  };

  function mark(stationId, state) {
    const at = new Date().toISOString();
    const known = ticks.get(stationId);
    const tick = { id: known?.id ?? uuid7(), walk: id, station: stationId, state, at };
    ticks.set(stationId, tick);
    writes.add({ kind: "tick", id: tick.id, values: { walk: id, station: stationId, state, at } });
  }

  function moveTo(step, told = "") {
    place = step.id;
    writes.add({ kind: "walk", id, values: { place } });
    draw();
    view.node.scrollTop = 0;
    say(`${told}${part(view.node, "station").textContent}: ${part(view.node, "current").textContent}.`);
    writes.save();
  }

  function done() {
    const at = now();
    buzz(at.step.isEnd || at.next?.isEnd ? [30, 60, 30] : 30);
    if (!at.step.isEnd && byStation()[at.step.id] !== "done") mark(at.step.id, "done");
    if (at.next) moveTo(at.next, at.step.isEnd ? "" : `${at.step.station.name} done. `);
    else finish();
  }

  // Takes back the station that is shown, come back to by the list, or else the newest.
  function undo() {
    const last = undoable();
    if (!last) return;
    mark(last.station, "open");
    moveTo(
      all.find((step) => step.id === last.station),
      `${nameOf(last.station)} is open again. `,
    );
  }

  function skip(stationId) {
    mark(stationId, "skipped");
    draw();
    say(`${nameOf(stationId)} skipped. ${part(view.node, "current").textContent}.`);
    writes.save();
  }

  function finish() {
    writes.add({ kind: "walk", id, values: { ended: new Date().toISOString() } });
    writes.save();
    goInstead(`dog/${walk.values.dog}`);
  }

  const newest = () =>
    [...ticks.values()].filter((tick) => settled(tick.state)).sort((one, other) => (one.at < other.at ? 1 : -1))[0] ??
    null;

  function undoable() {
    const here = ticks.get(place);
    return settled(here?.state) ? here : newest();
  }

  const nameOf = (stationId) => all.find((step) => step.id === stationId)?.station?.name ?? stationId;

  // --- what is shown

  function draw() {
    const at = now();
    const isEnd = Boolean(at.step.isEnd);
    if (!view || view.isEnd !== isEnd) build(isEnd);
    (isEnd ? drawEnd : drawStation)(at);
    part(view.node, "undo").setAttribute("aria-disabled", String(!undoable()));
    showLast();
    showSync();
  }

  function build(isEnd) {
    const hadFocus = stage.contains(document.activeElement);
    const node = fill(clone(isEnd ? "ring-end" : "ring"), { leave: icon("close") });
    on(node, "done", guarded(done));
    on(node, "undo", guarded(undo));
    on(node, "list", guarded(openList));
    if (!isEnd) on(node, "more", guarded(openMore));
    on(
      node,
      "leave",
      guarded(() => go(`dog/${walk.values.dog}`)),
    );
    view = { node, isEnd };
    stage.replaceChildren(node);
    if (hadFocus) part(node, "done").focus();
  }

  function drawStation(at) {
    const { station } = at.step;
    const missed = at.missed.length;
    const state = byStation()[station.id];
    fill(view.node, {
      station: settled(state) ? [icon(state), ` ${station.name}: ${STATES[state]}`] : station.name,
      current: headline(station),
      place: `${at.number}/${at.of}`,
      phase: at.step.phase.name,
      done: "Done",
      next: `Next: ${nextName(at)}`,
      left: `${at.left} left`,
      missed: missed ? [icon("missed"), ` ${missed} missed`] : [],
      figure: stationFigure(card.figure, station.id),
      track: at.here.map((step) => trackMark(step, at)),
    });
    part(view.node, "done").setAttribute("aria-label", `Done: ${station.name}`);
  }

  // After the last station of a phase comes the next phase.
  function nextName({ next }) {
    if (!next.isEnd) return next.station.name;
    return all[all.indexOf(next) + 1]?.phase.name ?? "the end";
  }

  function drawEnd(at) {
    const missed = at.missed.length;
    fill(view.node, {
      station: at.step.phase.name,
      current: missed ? `${missed} missed` : `Complete ${at.done}/${at.of}`,
      missed: at.here.filter((step) => stateOf(step, at) !== "done").map((step) => missedRow(step, stateOf(step, at))),
      done: at.next ? "Go on" : "Finish",
      next: at.next ? `Next: ${at.next.phase.name}` : "This was the last look.",
    });
    part(view.node, "done").removeAttribute("aria-label");
    view.node.classList.toggle("has-missed", missed > 0);
  }

  function missedRow(step, state) {
    const row = fill(clone("ring-missed-row"), { icon: icon(state), words: step.station.name });
    row.dataset.state = state;
    const button = part(row, "skip");
    if (state === "skipped") {
      button.replaceWith(text("span", STATES.skipped));
      return row;
    }
    button.setAttribute("aria-label", `Skip ${step.station.name}`);
    return on(
      row,
      "skip",
      guarded(() => skip(step.id)),
    );
  }

  const stateOf = (step, at) => {
    if (step === at.step) return "here";
    const state = byStation()[step.id];
    if (state === "done" || state === "skipped") return state;
    return at.missed.includes(step) ? "missed" : "open";
  };

  function trackMark(step, at) {
    const item = document.createElement("li");
    item.className = `track-${stateOf(step, at)}`;
    item.append(icon(stateOf(step, at)));
    return item;
  }

  function showLast() {
    if (!view) return;
    const last = newest();
    fill(view.node, { last: last ? `${nameOf(last.station)} ${STATES[last.state]}, ${ago(last.at)}` : "" });
  }

  async function showSync() {
    const { waiting } = await store.status().catch(() => ({ waiting: 0 }));
    if (!view) return;
    const words = writes.unkept ? "not saved" : waiting ? `${waiting} wait` : "";
    if (part(view.node, "sync").textContent !== words) fill(view.node, { sync: words });
  }

  // --- the sheets over it

  function openSheet(title, body) {
    const opener = document.activeElement;
    sheet = fill(clone("ring-sheet"), { title, body });
    const close = guarded(() => {
      sheet?.remove();
      sheet = null;
      view.node.inert = false;
      (opener?.isConnected ? opener : part(view.node, "done")).focus();
    });
    on(sheet, "close", close);
    sheet.addEventListener("keydown", (event) => event.key === "Escape" && close());
    view.node.inert = true;
    stage.append(sheet);
    part(sheet, "title").focus();
    return () => {
      guardedUntil = 0;
      close();
    };
  }

  function openMore() {
    const { station } = now().step;
    const notes = file.notes.filter((note) => note.values.station === station.id);
    const leading = station.cues.find((cue) => !cue.own);
    const line = (cue, words, mark) => lineNode(card, cue, { words, mark });
    const body = [
      ...(notes.length ? [notesNode(notes, { canEdit: false })] : []),
      section("Do", "do", [line(leading, leading.do)]),
      ...(station.cautions.length ? [section("Take care", "care", cautionLines(card, station))] : []),
      section("Avoid", "avoid", [line(leading, leading.avoid, "notyet")]),
      ...(station.asks.length ? [section("The standard asks", "asks", askLines(card, station))] : []),
    ];
    for (const node of body) plainSources(node);
    openSheet(station.name, body);
  }

  // In the ring a source is only named: it opens on the exam card, where there is time to read.
  function plainSources(node) {
    for (const source of node.querySelectorAll("details.source")) {
      source.replaceWith(text("p", part(source, "source-name").textContent, "source"));
    }
  }

  function openList() {
    const at = now();
    const list = document.createElement("ol");
    list.className = "ring-list";
    const close = openSheet(at.step.phase.name, list);
    list.replaceChildren(...rowsOf(at.here, (step) => listRow(step, at, close)));
  }

  function listRow(step, at, close) {
    const state = stateOf(step, at);
    const row = fill(clone("ring-list-row"), { icon: icon(state), name: step.station.name, state: STATES[state] });
    part(row, "jump").dataset.state = state;
    return on(
      row,
      "jump",
      guarded(() => {
        close();
        moveTo(step);
      }),
    );
  }

  const clock = setInterval(showLast, 15_000);
  draw();
  return {
    node: stage,
    title: `Ring: ${dogName(file.dog)}`,
    alone: true,
    refresh: showSync,
    // Only now has the screen before this one let go of its own hold.
    shown: stayAwake,
    leave() {
      clearInterval(clock);
      maySleep();
      release();
    },
  };
}

// Haptics are an extra: where the phone has none, nothing is missing.
function buzz(pattern) {
  navigator.vibrate?.(pattern);
}
