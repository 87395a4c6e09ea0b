// The gate check: one dog, one show, as a careful steward would look. What the steward will call, one line
// of verdict, what is wrong and what mends it, then the rows to tick. The app finds what it can look up; a
// row is ticked by the finger alone, and a second tap or Undo takes the tick back.

import { maySleep, stayAwake } from "../awake.js";
import { dayOf, sayDay } from "../core/days.js";
import { findings, itemsOf, newestTicks, sortOut } from "../core/gate.js";
import { held } from "../core/held.js";
import { uuid7 } from "../core/ids.js";
import { felt, newestCheck, TESTES } from "../core/puppies.js";
import { barsFor, standing } from "../core/rules.js";
import { sentence } from "../core/says.js";
import { isOver } from "../core/walk.js";
import { ago, localDay } from "../core/words.js";
import { dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say, text } from "../dom.js";
import { holdCard } from "../installation.js";
import { drawRow, rightNode, rowNode, stateWords, wrongNode } from "../parts/gaterows.js";
import { rowsOf } from "../parts/guard.js";
import { dogName } from "../parts/names.js";
import { ownItems } from "../parts/ownitems.js";
import { judgeBefore } from "../parts/results.js";
import { beginWalk } from "../parts/walkstart.js";
import { go } from "../router.js";
import { rulesBook } from "../shipped.js";
import * as store from "../store.js";
import { touchedLast } from "../touched.js";
import { writesInLine } from "../writes.js";

export const routes = { "gate/:id": gate };

const GUARD = 400;
const LAST_WALKS = 20;
const GROUPS = {
  first: { id: "settle", name: "To check" },
  last: [
    { id: "own", name: "Your own items" },
    { id: "", name: "Good to know" },
  ],
};

async function gate({ id }) {
  const entry = await store.get("entry", id);
  if (!entry || entry.values.deleted) return null;
  const [found, show, rules, about, measured, checked, before] = await Promise.all([
    dogFile(entry.values.dog),
    store.get("show", entry.values.show),
    rulesBook(),
    store.about("gate", id),
    store.newestBy("measure", entry.values.dog ?? "", ["weight", "height"]),
    store.about("check", entry.values.dog ?? ""),
    judgeBefore(entry.values.judge, id, true),
  ]);
  if (!found || !show || show.values.deleted) return null;
  const file = withFelt(found, checked);
  const ticks = newestTicks(about.map(({ id: tick, values }) => ({ id: tick, ...values })));
  const release = holdCard();
  const { looked, bars } = lookUp(file, entry.values, show.values, rules, [...measured.values()]);
  const node = fill(clone("gate"), {
    back: icon("back"),
    title: `Gate: ${dogName(file.dog)}`,
    call: calledNodes(entry.values),
    about: aboutEntry(entry.values, show.values, rules),
    before: before === null ? [] : [before],
    governs: held(rules.windows.b, keyOf(show.values))?.g ?? "",
  });
  part(node, "back").href = `#/show/${show.id}`;
  part(node, "edit").href = `#/entry/${id}`;
  part(node, "clock").href = `#/entry/${id}/clock`;
  part(node, "heat").href = `#/entry/${id}/heat`;
  // Who comes out of the ring writes down what came of it.
  const last = file.walks.get("ring")?.values;
  const isOut = Boolean(last?.ended) && last.entry === id;
  fill(node, { result: isOut });
  if (isOut) part(node, "result").href = `#/entry/${id}/result`;
  part(node, "go").classList.toggle("main", !isOut);
  const ways = {
    says: rules.says,
    hrefs: {
      dog: `#/dog/${file.dog.id}/edit`,
      show: `#/show/${show.id}/edit`,
      entry: `#/entry/${id}`,
      measures: `#/dog/${file.dog.id}/measures`,
    },
    mark,
    remove: (item, words) => own.remove(item, words),
  };
  const groups = [GROUPS.first, ...rules.gate.groups, ...GROUPS.last].map((group) => ({
    ...group,
    node: fill(clone("gate-group"), { name: group.name }),
  }));
  fill(node, { groups: groups.map((group) => group.node) });
  const writes = writesInLine(showLast);
  const guarded = new WeakMap();
  const taps = [];
  let movedUntil = 0;
  let kit = file.kit;
  /** @type {Map<string, HTMLElement>} */
  let nodes = new Map();
  let sorted = sort();

  function sort() {
    const items = itemsOf(
      rules.gate.items,
      entry.values,
      kit.map(({ id: own, values }) => ({ id: own, line: values.line })),
      bars,
    );
    return sortOut(looked, items, new Map([...ticks].map(([item, tick]) => [item, tick.state])));
  }

  // --- what a tap does: the screen first, the store after it

  // A second tap on the same button at once is a slip, and so is any while rows have just moved.
  function mark(point, state, button) {
    const now = performance.now();
    if (now < Math.max(movedUntil, guarded.get(button) ?? 0)) return;
    guarded.set(button, now + GUARD);
    taps.push({ point, state: ticks.get(point.id)?.state ?? "open" });
    tick(point, state);
    // Another row may stand where this one was.
    if (!button.isConnected) movedUntil = now + GUARD;
  }

  function undo() {
    const last = taps.pop();
    if (last) tick(last.point, last.state);
  }

  function tick(point, state) {
    const at = new Date().toISOString();
    const kept = { id: ticks.get(point.id)?.id ?? uuid7(), item: point.id, state, at };
    ticks.set(point.id, kept);
    writes.add({ kind: "gate", id: kept.id, values: { entry: id, item: point.id, state, at } });
    steady(draw);
    navigator.vibrate?.(30);
    say(`${part(node, "last").textContent} ${part(node, "count").textContent.trim()}.`);
    writes.save();
  }

  // What comes or goes above the finger moves nothing under it: the first row that stays is held.
  function steady(act) {
    const below = [...node.querySelectorAll(".gate-row, .gate-head, .gate-folds")].filter(
      (one) => one.getBoundingClientRect().bottom > innerHeight / 3,
    );
    const tops = new Map(below.map((one) => [one, one.getBoundingClientRect().top]));
    const focused = document.activeElement;
    act();
    const stayed = below.find((one) => one.isConnected && one.getClientRects().length);
    const moved = stayed ? stayed.getBoundingClientRect().top - tops.get(stayed) : 0;
    if (moved) scrollBy({ top: moved, behavior: "instant" });
    if (focused && focused !== document.body && !focused.isConnected) part(node, "undo").focus({ preventScroll: true });
  }

  // --- what is shown

  function draw() {
    sorted = sort();
    const made = new Map();
    // A row that stays keeps what was opened in it.
    const nodeOf = (kind, point, build) => {
      const key = `${kind} ${point.id} ${sentence(rules.says, point.words)}`;
      made.set(key, made.get(key) ?? nodes.get(key) ?? build(point, ways));
      return made.get(key);
    };
    place(
      part(node, "wrong"),
      rowsOf(sorted.wrong, (point) => nodeOf("wrong", point, wrongNode)),
    );
    place(
      part(node, "right"),
      rowsOf(sorted.right, (point) => nodeOf("right", point, rightNode)),
    );
    const rows = [...sorted.rows, ...sorted.advice];
    for (const group of groups) {
      const own = rows.filter((point) => point.group === group.id);
      place(
        part(group.node, "rows"),
        rowsOf(own, (point) => drawRow(nodeOf("row", point, rowNode), point)),
      );
      drawHead(group.node, group.id, own);
    }
    nodes = made;
    const { length } = sorted.right;
    fill(node, {
      "right-name": length ? `In order: ${length}` : "The rules",
      count: countNodes(sorted),
    });
    part(node, "count").dataset.state = sorted.wrong.length ? "wrong" : sorted.todo ? "open" : "right";
    part(node, "undo").style.visibility = taps.length ? "" : "hidden";
    showLast();
  }

  function showLast() {
    const last = [...ticks.values()]
      .filter(({ state }) => state !== "open")
      .sort((one, other) => (one.at < other.at ? 1 : -1))[0];
    const point = last && [...sorted.wrong, ...sorted.rows, ...sorted.advice].find((one) => one.id === last.item);
    const state = point && (last.state === "ready" ? stateWords(point) : "no");
    const words = point ? `${sentence(rules.says, point.words)}: ${state}, ${ago(last.at)}` : "";
    fill(node, { last: writes.unkept ? `Not saved yet. Trying again. ${words}` : words });
    part(node, "last").dataset.unkept = String(writes.unkept);
  }

  const own = ownItems(
    node,
    file.dog,
    () => kit,
    async () => {
      kit = await store.about("kit", file.dog.id);
      draw();
    },
  );
  on(node, "undo", undo);
  on(node, "go", async () => go(await ringAddress(file, id)));
  draw();
  const clock = setInterval(showLast, 15_000);
  return {
    node,
    title: `Gate: ${dogName(file.dog)}`,
    shown: stayAwake,
    leave() {
      clearInterval(clock);
      maySleep();
      release();
    },
  };
}

/** The file of a dog with the testes as they were felt last: by its record, or by its newest check. */
function withFelt(file, checked) {
  const last = newestCheck(
    checked.map((row) => row.values),
    TESTES,
  );
  return { ...file, dog: { ...file.dog, values: { ...file.dog.values, ...felt(file.dog.values, last) } } };
}

/** On to the walk of this entry that is not over, else to a new one. */
async function ringAddress(file, entry) {
  const walks = await store.newest("walk", file.dog.id, LAST_WALKS);
  const own = walks.find(({ values }) => values.entry === entry && values.mode === "ring" && !values.ended);
  const open = own && !isOver(own.values, await touchedLast(own), Date.now()) && own;
  return open ? `ring/${open.id}` : beginWalk(file, "ring", [], entry);
}

const keyOf = ({ body }) => (body ?? "").toLowerCase();

function calledNodes({ armband, ring, time }) {
  return Object.entries({ Armband: armband, Ring: ring, Time: time }).map(([name, value]) => {
    const node = fill(clone("gate-called"), { name, value: value || "–" });
    node.dataset.long = String((value ?? "").length > 5);
    return node;
  });
}

function aboutEntry(entry, show, { windows }) {
  const today = localDay();
  const day = dayOf(entry, show, today);
  const name = held(held(windows.b, keyOf(show))?.c, entry.klass)?.n ?? entry.klass;
  return [name, entry.judge, show.name, day !== today && day && sayDay(day)].filter(Boolean).join(" · ");
}

/** What can be looked up in the pack and the rules. */
function lookUp({ dog, pack, limits, isPackStale }, { klass, day: shown }, show, rules, measured) {
  const { body, member, day: first, until: last } = show;
  const kind = show.level?.replace(/-cc$/, "");
  const bars = barsFor(held(rules.bars, keyOf(show)) ?? [], dog.values, { klass, kind, day: shown ?? first });
  const looked = findings({
    standing: standing(pack?.enter, rules.windows, { body, member, klass, first, last, shown }),
    body,
    klass,
    isDated: Boolean(first),
    isStale: isPackStale,
    limits,
    measures: measured.map((row) => row.values),
    bars,
    dog: dog.values,
    chips: rules.chips,
  });
  return { looked, bars };
}

function place(list, rows) {
  if (list.children.length === rows.length && rows.every((row, at) => list.children[at] === row)) return;
  list.replaceChildren(...rows);
  list.hidden = rows.length === 0;
}

function drawHead(node, group, rows) {
  const ready = rows.filter((row) => row.state === "ready").length;
  const isComplete = ready === rows.length;
  node.hidden = rows.length === 0;
  node.dataset.complete = String(isComplete);
  const counted = isComplete ? [icon("done"), ` Complete ${ready}/${rows.length}`] : `${ready} of ${rows.length}`;
  fill(node, { done: group ? counted : "will not stop you" });
}

function countNodes({ wrong, todo }) {
  const bad = wrong.filter((point) => point.state === "wrong").length;
  if (!bad && !todo) return [icon("done"), text("span", "In order")];
  const left = todo ? text("span", `${todo} to do`, bad ? "gate-todo" : "") : "";
  return bad ? [icon("missed"), text("span", `${bad} wrong`), left] : [icon("open"), left];
}
