// Ring: one station a screen, for one hand and two seconds. Nothing here waits for disk or network,
// asks back, or pops up; everything can be undone, and a killed app comes back to the same station.
// The rules it follows are numbered in the tests (tests/browser/test_glance.py).

import { maySleep, stayAwake } from "../awake.js";
import {
  askedBy,
  headline,
  isTickOf,
  lastSettled,
  position,
  sentence,
  settled,
  stateOf,
  states,
  steps,
} from "../core/walk.js";
import { uuid7 } from "../core/ids.js";
import { ago } from "../core/words.js";
import { cardOf, dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say, stationFigure, text } from "../dom.js";
import { holdCard } from "../installation.js";
import { entryAndShow } from "../parts/entries.js";
import { dogName } from "../parts/names.js";
import { newNote } from "../parts/notes.js";
import { runningClock } from "../parts/ringday.js";
import { listBody, moreBody, sheetNode, veiled } from "../parts/ringsheets.js";
import { ringSync } from "../parts/syncwords.js";
import { go, goInstead } from "../router.js";
import * as store from "../store.js";
import { writesInLine } from "../writes.js";

export const routes = { "ring/:id": ring };

const GUARD = 400;
const STATES = { done: "done", skipped: "skipped", missed: "missed", open: "to come", here: "now" };

async function ring({ id }) {
  const walk = await store.get("walk", id);
  const file = walk && !walk.values.deleted && (await dogFile(walk.values.dog));
  if (!file) return null;
  const card = cardOf(file, walk.values.stations);
  const all = steps(card);
  const ticks = new Map(
    (await store.about("tick", id))
      .filter(({ values }) => isTickOf(all, values))
      .map((row) => [row.values.station, { id: row.id, ...row.values }]),
  );
  const entry = await entryAndShow(walk.values.entry);
  const clock = entry && (await runningClock(entry));
  const home = entry ? `gate/${entry.entry.id}` : `dog/${walk.values.dog}`;
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
    say(told + said());
    writes.save();
  }

  function said() {
    const { step } = now();
    return step.isEnd ? `${step.phase.name}: ${part(view.node, "current").textContent}.` : sentence(step.station);
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
    goInstead(home);
  }

  const newest = () => lastSettled([...ticks.values()]);

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
    tellUndo();
    showLast();
    showSync();
  }

  function tellUndo() {
    const last = undoable();
    const undo = part(view.node, "undo");
    undo.setAttribute("aria-disabled", String(!last));
    undo.setAttribute("aria-label", last ? `Undo: ${lastWords(last)}` : "Undo");
  }

  function build(isEnd) {
    const hadFocus = stage.contains(document.activeElement);
    const node = fill(clone(isEnd ? "ring-end" : "ring"), { leave: icon("close") });
    on(node, "done", guarded(done));
    on(node, "undo", guarded(undo));
    on(node, "list", guarded(openList));
    on(node, "note", guarded(openNote));
    on(node, "more", guarded(openMore));
    on(
      node,
      "leave",
      guarded(() => go(clock || home)),
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
      asked: station.glance ? [text("b", askedBy(station)), ` ${station.glance}`] : [],
      place: `${at.number}/${at.of}`,
      phase: at.step.phase.name,
      done: "Done",
      next: `Next: ${nextName(at)}`,
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
      missed: at.here.filter((step) => stands(step, at) !== "done").map((step) => missedRow(step, stands(step, at))),
      done: at.next ? "Go on" : "Finish",
      next: at.next ? `Next: ${at.next.phase.name}` : "That was the last look.",
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

  const stands = (step, at) => stateOf(all, step, at, byStation());

  function trackMark(step, at) {
    const item = document.createElement("li");
    item.className = `track-${stands(step, at)}`;
    item.append(icon(stands(step, at)));
    return item;
  }

  const lastWords = (tick) => `${nameOf(tick.station)} ${STATES[tick.state]}`;

  // Where a phase ends, and in the list: on a station there is room for what is to be done alone.
  function showLast() {
    const last = newest();
    for (const place of stage.querySelectorAll("[data-part=last]")) {
      place.textContent = last ? `${lastWords(last)}, ${ago(last.at)}` : "";
    }
  }

  async function showSync() {
    const status = await store.status().catch(() => null);
    if (!view) return;
    const words = status || writes.unkept ? ringSync(status ?? {}, writes.unkept) : "";
    if (part(view.node, "sync").textContent !== words) fill(view.node, { sync: words });
  }

  // --- the sheets over it

  function openSheet(title, body, hasLast = false) {
    const opener = document.activeElement;
    const close = () => {
      sheet?.remove();
      sheet = null;
      view.node.inert = false;
      (opener?.isConnected ? opener : part(view.node, "done")).focus();
    };
    sheet = sheetNode(title, body, guarded(close), hasLast);
    view.node.inert = true;
    stage.append(sheet);
    part(sheet, "title").focus();
    return close;
  }

  const notesOf = (station) => file.notes.filter((note) => note.values.station === station.id);

  function openMore() {
    const { station } = now().step;
    openSheet(station.name, moreBody(card, station, notesOf(station)));
  }

  function openNote() {
    const { station } = now().step;
    const form = newNote(file.dog.id, station.id, async () => {
      close();
      file.notes = await store.about("note", file.dog.id);
    });
    const close = openSheet(`Note: ${station.name}`, [form, ...veiled(notesOf(station))]);
    part(form, "text").focus();
  }

  function openList() {
    const at = now();
    const rows = listBody(all, at.step.phase, (step) => listRow(step, at, () => close()));
    const close = openSheet("Stations", rows, true);
    showLast();
    sheet.querySelector('[data-state="here"], [data-here]').scrollIntoView({ block: "center" });
  }

  function listRow(step, at, close) {
    const state = stands(step, at);
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

  const ticking = setInterval(() => {
    showLast();
    showSync();
  }, 15_000);
  draw();
  return {
    node: stage,
    title: `Ring: ${dogName(file.dog)}`,
    alone: true,
    refresh: showSync,
    shown() {
      // Only now has the screen before this one let go of its own hold.
      stayAwake();
      say(said());
    },
    leave() {
      clearInterval(ticking);
      maySleep();
      release();
    },
  };
}

// Haptics are an extra: where the phone has none, nothing is missing.
function buzz(pattern) {
  navigator.vibrate?.(pattern);
}
