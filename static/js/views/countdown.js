// The countdown to a show: what is due today, this week and later for one dog, ticked, moved, skipped and
// added. A tick shows at once and is kept behind it; Undo takes the last one back.

import { groupOf } from "../core/countdown.js";
import { daysBetween, sayDay } from "../core/days.js";
import { few, localDay } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { entryAndShow } from "../parts/entries.js";
import { rowsOf } from "../parts/guard.js";
import { lineNode } from "../parts/lines.js";
import { dogName, showName } from "../parts/names.js";
import { Taps } from "../parts/taps.js";
import { addTask, countdownOf, touchId } from "../parts/tasks.js";
import * as store from "../store.js";

export const routes = { "entry/:id/countdown": countdown };

const GROUPS = ["today", "week", "later", "done", "past"];
const FOLDED = { done: "Done", past: "Too late now" };
const ICONS = { open: "open", done: "done", skipped: "skipped" };
const LEADS = { gate: "Gate check", heat: "Heat" };
const GUARD = 400; // ms
const MOST_LINE = 80;
const MOST_DAYS = 60;

async function countdown({ id }) {
  const about = await entryAndShow(id);
  const dog = about && (await store.get("dog", about.entry.values.dog));
  if (!dog || dog.values.deleted) return null;
  const today = localDay();
  const owner = { entry: about.entry, show: about.show, dog };
  let known = await countdownOf(owner);
  const node = fill(clone("countdown"), {
    back: icon("back"),
    title: `Countdown: ${dogName(dog)}`,
    about: aboutWords(about.show, known.day, today),
    ...coatWords(known, dog),
  });
  part(node, "back").href = `#/show/${about.show.id}`;
  const edit = part(node, "edit");
  if (edit) edit.href = known.day ? `#/dog/${dog.id}/edit` : `#/show/${about.show.id}/edit`;
  const nodes = new Map();
  const taps = new Taps(known.touched, () => drawSteady());
  let movedUntil = 0;

  // Where a row went away another one stands: a second tap at once is a slip.
  function touch({ key, task }, change, words) {
    if (performance.now() < movedUntil) return;
    movedUntil = performance.now() + GUARD;
    const values = { entry: id, task: key, ...change };
    const said = `${task.name}: ${words}`;
    taps.tap([{ kind: "task", id: touchId(id, key), values }], said);
    navigator.vibrate?.(30);
    say(`${said}.`);
  }

  function undo() {
    const { last } = taps;
    if (taps.undo()) say(`Undone: ${last}.`);
  }

  async function remove({ task }) {
    await store.write("task", task.own, { deleted: true });
    say(`${task.name}: removed. Bring it back in Settings, under Removed.`);
    await reread();
  }

  async function reread() {
    known = await countdownOf(owner);
    taps.renew(known.touched);
    draw();
  }

  // A row that went elsewhere takes the focus along to what takes it back.
  function drawSteady() {
    const focused = document.activeElement;
    draw();
    if (focused && focused !== document.body && (!focused.isConnected || !focused.getClientRects().length))
      part(node, "undo").focus({ preventScroll: true });
  }

  function draw() {
    const rows = known.due(taps.all("task")).map((due) => ({ due, group: groupOf(due, today) }));
    for (const group of GROUPS) {
      const own = rows.filter((row) => row.group === group);
      // What was due last is what one looks for there.
      if (FOLDED[group]) own.reverse();
      fill(node, { [group]: rowsOf(own, ({ due }) => drawRow(rowOf(due), due, today)) });
      part(node, `${group}-part`).hidden = own.length === 0;
      if (FOLDED[group]) fill(node, { [`${group}-name`]: `${FOLDED[group]}: ${own.length}` });
    }
    const due = rows.filter(({ group }) => group === "today").length;
    part(node, "count").dataset.state = due ? "open" : "right";
    fill(node, { count: due ? [icon("open"), ` ${due} due`] : [icon("done"), " Nothing due today"] });
    drawHead();
  }

  function drawHead() {
    const last = taps.last ?? "";
    part(node, "undo").style.visibility = last ? "" : "hidden";
    fill(node, { last: taps.unkept ? `Not saved yet. Trying again. ${last}` : last });
  }

  function rowOf(due) {
    const row = nodes.get(due.key) ?? newRow(due);
    row.due = due;
    return row.node;
  }

  function newRow(due) {
    const row = { node: rowNode(due, known.book, id), due };
    nodes.set(due.key, row);
    const turn = (state) =>
      row.due.state === state
        ? touch(row.due, { state: "open" }, "to do")
        : touch(row.due, { state }, state === "done" ? "done" : "skipped");
    on(row.node, "tick", () => turn("done"));
    on(row.node, "skip", () => turn("skipped"));
    on(row.node, "remove", () => remove(row.due));
    const move = ({ currentTarget }) => {
      const day = currentTarget.value || null;
      touch(row.due, { state: "open", day }, day ? `moved to ${sayDay(day)}` : "back on its usual day");
    };
    on(row.node, "move", move, "change");
    return row;
  }

  on(node, "undo", undo);
  adds(node, id, today, reread);
  draw();
  return { node, title: `Countdown: ${dogName(dog)}`, refresh: reread };
}

function aboutWords(show, day, today) {
  if (!day) return `${showName(show)}: enter the day of the show to see what is due when.`;
  const days = daysBetween(today, day);
  const when = days > 1 ? `in ${days} days` : ({ 1: "tomorrow", 0: "today" }[days] ?? "over");
  return `${showName(show)}, ${sayDay(day)}: ${when}`;
}

/** What the coat has to do with it: what is not cut, or that nobody knows it. */
function coatWords({ coat, uncut, day }, dog) {
  if (!day) return { coat: null, edit: "Edit the show" };
  if (!coat)
    return {
      coat: `We do not know the coat of ${dogName(dog)}, so what is for one coat alone is left out.`,
      edit: "Choose breed and variety",
    };
  if (!uncut) return { coat: null, edit: null };
  const { says, source } = uncut;
  const where = typeof source === "string" ? source : `${source.of ? `${source.of}: ` : ""}${source.title}`;
  return { coat: `${says} So nothing here cuts. (${where})`, edit: null };
}

function rowNode({ task }, book, entry) {
  const cautions = book.cautions.filter(({ tasks }) => tasks.includes(task.id));
  const lines = [
    ...(task.says ? [lineNode(book, task, { words: task.says })] : []),
    ...cautions.map((line) => lineNode(book, line, { mark: "caution", words: line.text })),
  ];
  const node = fill(clone("task-row"), {
    words: task.name,
    more: icon("onward"),
    lines: lines.length ? lines : null,
    leads: LEADS[task.leads] ?? null,
    ...(task.own ? {} : { remove: null }),
  });
  const link = part(node, "leads");
  if (link) link.href = task.leads === "gate" ? `#/gate/${entry}` : `#/entry/${entry}/heat`;
  const more = part(node, "more");
  more.setAttribute("aria-label", `How, move or skip: ${task.name}`);
  return on(node, "more", () => {
    const help = part(node, "help");
    help.hidden = !help.hidden;
    more.setAttribute("aria-expanded", String(!help.hidden));
  });
}

function drawRow(node, { day, last, state }, today) {
  node.dataset.state = state === "open" ? "open" : "ready";
  fill(node, {
    icon: icon(ICONS[state] ?? "open"),
    when: whenWords(day, last, today),
    state: state === "open" ? "" : state,
    skip: state === "skipped" ? "Do it after all" : "Skip",
  });
  part(node, "tick").setAttribute("aria-pressed", String(state === "done"));
  part(node, "move").value = day;
  return node;
}

function whenWords(day, last, today) {
  if (day > today) return sayDay(day);
  if (last < today) return `Until ${sayDay(last)}`;
  return last === today ? "Today" : `By ${sayDay(last)}`;
}

/** Work the form that adds a task of one's own. */
function adds(node, entry, today, added) {
  const form = part(node, "form");
  const { line, day, every } = form.elements;
  day.value = today;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const words = line.value.trim();
    const again = every.value.trim() ? Number(every.value) : null;
    const wrong = problemOf(words, again);
    fill(node, { hint: wrong });
    if (wrong) return;
    try {
      await addTask(entry, { line: words, day: day.value || null, ...(again && { every: again }) });
      line.value = every.value = "";
      say(`${words}: added.`);
      await added();
    } catch (error) {
      fill(node, { hint: `Not saved: ${error.message} It is still here; try again.` });
    }
  });
}

function problemOf(words, again) {
  if (!words) return "Write what to do, such as “Wash the show bedding”.";
  if ([...words].length > MOST_LINE) return `Keep it to ${few(MOST_LINE, "letter")}.`;
  const isDays = again === null || (Number.isInteger(again) && again > 0 && again <= MOST_DAYS);
  return isDays ? "" : `Write a number of days from 1 to ${MOST_DAYS}, or leave it empty.`;
}
