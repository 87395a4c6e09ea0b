// The gate check: one dog, one show, as a careful steward would look. First what is wrong and what
// can still be done, then what is not known, then the items for one's own eyes. The app finds what
// it can look up; an item is ticked by the finger alone, and a second tap takes the tick back.

import { maySleep, stayAwake } from "../awake.js";
import { findings, itemSource, itemsOf, newestTicks, sortOut } from "../core/gate.js";
import { uuid7 } from "../core/ids.js";
import { standing } from "../core/rules.js";
import { sentence } from "../core/says.js";
import { ago } from "../core/words.js";
import { dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { holdCard } from "../installation.js";
import { rowsOf } from "../parts/guard.js";
import { dogName } from "../parts/names.js";
import { aboutShow } from "../parts/showline.js";
import { rulesBook } from "../shipped.js";
import * as store from "../store.js";
import { writesInLine } from "../writes.js";

export const routes = { "gate/:id": gate };

const STATES = {
  open: { icon: "open", words: "to do" },
  ready: { icon: "done", words: "ready" },
  "not ready": { icon: "missed", words: "not ready" },
};
const MARKS = { wrong: "missed", unknown: "open", right: "done" };
const MOST_OWN = 7;
const GLANCE = 30;
const LONGEST = 40;
const GUARD = 400;
const OWN = { id: "own", name: "Your own items" };

async function gate({ id }) {
  const entry = await store.get("entry", id);
  if (!entry || entry.values.deleted) return null;
  const [found, show, rules, about, measured] = await Promise.all([
    dogFile(entry.values.dog),
    store.get("show", entry.values.show),
    rulesBook(),
    store.about("gate", id),
    store.newestBy("measure", entry.values.dog ?? "", ["weight", "height"]),
  ]);
  if (!found || !show || show.values.deleted) return null;
  const file = found;
  const ticks = newestTicks(about.map(({ id: tick, values }) => ({ id: tick, ...values })));
  const release = holdCard();
  const node = fill(clone("gate"), {
    back: icon("back"),
    title: `Gate: ${dogName(file.dog)}`,
    about: aboutEntry(entry.values, show.values),
    governs: rules.windows.b[(show.values.body ?? "").toLowerCase()]?.g ?? "",
  });
  part(node, "back").href = `#/show/${show.id}`;
  part(node, "edit").href = `#/entry/${id}`;
  const looked = find(file, entry.values, show.values, rules, [...measured.values()]);
  const hrefs = {
    dog: `#/dog/${file.dog.id}/edit`,
    show: `#/show/${show.id}/edit`,
    entry: `#/entry/${id}`,
    measures: `#/dog/${file.dog.id}/measures`,
  };
  let kit = file.kit;
  let groups = [];
  let shown = "";
  const writes = writesInLine(showLast);
  const guarded = new WeakMap();

  const stateOf = (item) => ticks.get(item.id)?.state ?? "open";

  // --- what a tap does: the screen first, the store after it

  // A second tap on the same button at once is a slip.
  function mark(item, state, button) {
    const now = performance.now();
    if (now < (guarded.get(button) ?? 0)) return;
    guarded.set(button, now + GUARD);
    const at = new Date().toISOString();
    const tick = { id: ticks.get(item.id)?.id ?? uuid7(), item: item.id, state, at };
    ticks.set(item.id, tick);
    writes.add({ kind: "gate", id: tick.id, values: { entry: id, item: item.id, state, at } });
    steady(item, draw);
    navigator.vibrate?.(30);
    say(`${item.words}: ${STATES[state].words}. ${part(node, "count").textContent.trim()}.`);
    writes.save();
  }

  // What comes or goes above the finger moves nothing under it.
  function steady(item, act) {
    const row = item.node;
    const before = row.getBoundingClientRect().top;
    act();
    const moved = row.getBoundingClientRect().top - before;
    if (moved) scrollBy({ top: moved, behavior: "instant" });
  }

  // --- what is shown

  function build() {
    const own = kit.map((row) => ({ id: row.id, line: row.values.line }));
    groups = groupsOf(rules.gate.groups, itemsOf(rules.gate.items, entry.values, file.dog.values, own)).map(
      ({ group, items }) => {
        for (const item of items) {
          item.words = sentence(rules.says, item.text);
          item.node = itemNode(item, file, rules.says, stateOf, mark, removeOwn);
        }
        return {
          group,
          items,
          node: fill(clone("gate-group"), { name: group.name, items: items.map((item) => item.node) }),
        };
      },
    );
    fill(node, { groups: groups.map((one) => one.node) });
    shown = "";
    draw();
  }

  function draw() {
    const items = groups.flatMap((one) => one.items);
    const states = new Map([...ticks].map(([item, tick]) => [item, tick.state]));
    const { todo, ...lists } = sortOut(looked, items, states);
    fill(node, { count: countNodes(lists.wrong.length, todo) });
    // A list that stays as it is keeps what was opened in it.
    const before = shown;
    shown = JSON.stringify(lists);
    if (shown !== before) {
      for (const [kind, list] of Object.entries(lists)) {
        fill(node, { [kind]: rowsOf(list, (one) => findingNode(one, rules.says, hrefs)) });
        part(node, `${kind}-part`).hidden = list.length === 0;
      }
    }
    for (const one of groups) drawGroup(one);
    showLast();
  }

  function drawGroup({ items, node: place }) {
    const ready = items.filter((item) => stateOf(item) === "ready").length;
    const isComplete = ready === items.length;
    fill(place, {
      done: isComplete ? [icon("done"), ` Complete ${ready}/${items.length}`] : `${ready} of ${items.length} ready`,
    });
    place.dataset.complete = String(isComplete);
    for (const item of items) drawItem(item, stateOf(item));
  }

  function newestTick() {
    return (
      [...ticks.values()]
        .filter((tick) => tick.state !== "open")
        .sort((one, other) => (one.at < other.at ? 1 : -1))[0] ?? null
    );
  }

  function showLast() {
    const last = newestTick();
    const named = last && groups.flatMap((one) => one.items).find((item) => ticks.get(item.id) === last);
    const words = named ? `Last: ${named.words}, ${STATES[last.state].words}, ${ago(last.at)}.` : "";
    fill(node, { last: writes.unkept ? `${words} Not saved yet; it is tried again.` : words });
  }

  // --- items of one's own

  async function reread() {
    kit = await store.about("kit", file.dog.id);
    build();
  }

  async function removeOwn(item) {
    await store.write("kit", item.id, { deleted: true });
    say(`${item.words}: removed. Settings, Removed brings it back.`);
    await reread();
    part(node, "kit-line").focus({ preventScroll: true });
  }

  const line = part(node, "kit-line");
  const hint = (words) => fill(node, { "kit-hint": words });
  line.addEventListener("input", () => {
    const length = [...line.value.trim()].length;
    hint(length > GLANCE ? `${length} letters: more than ${GLANCE} cannot be read at a glance.` : "");
  });
  part(node, "kit-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const words = line.value.trim();
    if (!words) return hint("Write something first: what you see when it is done, such as “Cooling coat wet”.");
    if ([...words].length > LONGEST) return hint(`Keep it to ${LONGEST} letters; ${GLANCE} read at a glance.`);
    if (kit.length >= MOST_OWN)
      return hint("Seven items of your own are the most a look can take. Remove one first, under its Why.");
    try {
      await store.write("kit", null, { dog: file.dog.id, line: words });
      line.value = "";
      hint("");
      say(`${words}: added.`);
      await reread();
    } catch (error) {
      hint(`Not saved: ${error.message} It is still here; try again.`);
    }
  });

  build();
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

const aboutEntry = (entry, show) =>
  [show.name, aboutShow(show), entry.ring && `ring ${entry.ring}`, entry.time, entry.judge].filter(Boolean).join(" · ");

/** What can be looked up in the pack and the rules. */
function find(
  { dog, pack, limits, isPackStale },
  { klass, day: shown },
  { body, day: first, until: last },
  rules,
  measured,
) {
  return findings({
    standing: standing(pack?.enter, rules.windows, { body, klass, first, last, shown }),
    body,
    klass,
    isDated: Boolean(first),
    isStale: isPackStale,
    limits,
    measures: measured.map((row) => row.values),
    dog: dog.values,
    chips: rules.chips,
  });
}
const groupsOf = (groups, items) =>
  [...groups, OWN]
    .map((group) => ({ group, items: items.filter((item) => item.group === group.id) }))
    .filter(({ items: own }) => own.length);

function itemNode(item, file, says, stateOf, mark, removeOwn) {
  const node = fill(clone("gate-item"), {
    words: item.words,
    help: item.own ? `Your own item for ${dogName(file.dog)}.` : item.help,
    source: item.own ? null : sentence(says, itemSource(item)),
    ...(item.own ? {} : { remove: null }),
  });
  node.dataset.item = item.id;
  const why = part(node, "why");
  const help = part(node, "help-part");
  help.id = `gate-help-${item.id}`;
  why.setAttribute("aria-label", `Why: ${item.words}`);
  why.setAttribute("aria-controls", help.id);
  why.addEventListener("click", () => {
    help.hidden = !help.hidden;
    why.setAttribute("aria-expanded", String(!help.hidden));
  });
  part(node, "not").setAttribute("aria-label", `Not ready: ${item.words}`);
  on(node, "remove", () => removeOwn(item));
  const toggle = (state) => (event) => mark(item, stateOf(item) === state ? "open" : state, event.currentTarget);
  on(node, "tick", toggle("ready"));
  return on(node, "not", toggle("not ready"));
}

function drawItem({ node }, state) {
  const drawn = state.replace(" ", "-");
  if (node.dataset.state === drawn) return;
  node.dataset.state = drawn;
  fill(node, {
    icon: icon(STATES[state].icon),
    state: state === "ready" ? "ready · tap to undo" : STATES[state].words,
  });
  part(node, "not").setAttribute("aria-pressed", String(state === "not ready"));
}

/** @param {any} finding */
function findingNode({ state, words, remedy = "", source = "", act = null }, says, hrefs) {
  const node = fill(clone("gate-finding"), {
    icon: icon(MARKS[state]),
    words: sentence(says, words),
    remedy: sentence(says, remedy) || null,
    act: act && sentence(says, act.words),
    ...(source.length ? { "source-words": sentence(says, source) } : { source: null }),
  });
  if (act) part(node, "act").href = hrefs[act.to];
  return node;
}

function countNodes(wrong, toDo) {
  const line = (mark, said) => {
    const made = document.createElement("span");
    made.append(icon(mark), ` ${said} `);
    return made;
  };
  if (!wrong && !toDo) return [line("done", "All in order")];
  return [wrong && line("missed", `${wrong} wrong`), toDo && line("open", `${toDo} to do`)].filter(Boolean);
}
