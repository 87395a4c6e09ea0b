// The gate check: one dog, one show, as a careful steward would look. First what is wrong and what
// can still be done, then what is not known, then the items for one's own eyes. The app finds what
// it can look up; an item is ticked by the finger alone, and a second tap takes the tick back.

import { maySleep, stayAwake } from "../awake.js";
import { checkChip } from "../core/chip.js";
import { uuid7 } from "../core/ids.js";
import { daysBetween, rulingAt, rulings, sayDay } from "../core/rules.js";
import { ago } from "../core/words.js";
import { dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { holdCard } from "../installation.js";
import { sourceOf } from "../parts/rulings.js";
import { aboutShow } from "../parts/showline.js";
import { rulesBook } from "../shipped.js";
import * as store from "../store.js";
import { writesInLine } from "../writes.js";
import { limitSource, limitState } from "./measures.js";

export const routes = { "gate/:id": gate };

const STATES = {
  open: { icon: "open", words: "to do" },
  ready: { icon: "done", words: "ready" },
  "not ready": { icon: "missed", words: "not ready" },
};
const MARKS = { wrong: "missed", unknown: "open", right: "done" };
const MOST_SHOWN = 3;
const MOST_OWN = 7;
const GLANCE = 30;
const LONGEST = 40;
const GUARD = 400;
const FEW_DAYS = 60;
const OWN = { id: "own", name: "Your own items" };
const COMMON = "Common practice: habit of the ring; no published source was read for it.";

async function gate({ id }) {
  const entry = await store.get(id);
  if (!entry || entry.values.deleted) return null;
  const [found, show, rules, about] = await Promise.all([
    dogFile(entry.values.dog),
    store.get(entry.values.show),
    rulesBook(),
    store.byAbout(id),
  ]);
  if (!found || !show || show.values.deleted) return null;
  const file = found;
  const ticks = newestTicks(about);
  const release = holdCard();
  const node = fill(clone("gate"), {
    back: icon("back"),
    title: `Gate: ${file.dog.values.name}`,
    about: aboutEntry(entry.values, show.values),
    governs: rules.windows.b[bodyOf(show)]?.g ?? "",
  });
  part(node, "back").href = `#/show/${show.id}`;
  part(node, "edit").href = `#/entry/${id}`;
  const findings = find(file, entry, show, rules);
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
    const tick = { id: ticks.get(item.id)?.id ?? uuid7(), state, at, text: item.text };
    ticks.set(item.id, tick);
    writes.add({ kind: "gate", id: tick.id, values: { entry: id, item: item.id, state, at } });
    steady(item, draw);
    navigator.vibrate?.(30);
    say(`${item.text}: ${STATES[state].words}. ${part(node, "count").textContent.trim()}.`);
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
    groups = groupsOf(rules.gate.groups, itemsOf(rules.gate, entry.values, file.dog.values, kit)).map(
      ({ group, items }) => {
        for (const item of items) item.node = itemNode(item, file, stateOf, mark, removeOwn);
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
    const isOpen = (item) => stateOf(item) === "open";
    const lacks = items.filter((item) => item.isLacking && isOpen(item));
    const of = (kind) => findings.filter((one) => one.state === kind);
    const notReady = items.filter((item) => stateOf(item) === "not ready");
    const lists = {
      wrong: [
        ...of("wrong"),
        ...lacks.filter((item) => item.grave).map((item) => lackOf(item, id, file)),
        ...notReady.map(notReadyOf),
      ],
      unknown: [...of("unknown"), ...lacks.filter((item) => !item.grave).map((item) => lackOf(item, id, file))],
      right: of("right"),
    };
    const toDo = lists.unknown.length + items.filter((item) => isOpen(item) && !item.isLacking).length;
    fill(node, { count: countNodes(lists.wrong.length, toDo) });
    // A list that stays as it is keeps what was opened in it.
    const before = shown;
    shown = JSON.stringify(lists);
    if (shown !== before) {
      for (const [kind, list] of Object.entries(lists)) {
        fill(node, { [kind]: list.map(findingNode) });
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
    const words = named ? `Last: ${named.text}, ${STATES[last.state].words}, ${ago(last.at)}.` : "";
    fill(node, { last: writes.unkept ? `${words} Not saved yet; it is tried again.` : words });
  }

  // --- items of one's own

  async function reread() {
    kit = (await store.byAbout(file.dog.id)).filter((row) => row.kind === "kit");
    build();
  }

  async function removeOwn(item) {
    await store.write("kit", item.id, { deleted: true });
    say(`${item.text}: removed. Settings, Removed brings it back.`);
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
    title: `Gate: ${file.dog.values.name}`,
    shown: stayAwake,
    leave() {
      clearInterval(clock);
      maySleep();
      release();
    },
  };
}

const bodyOf = (show) => show.values.body.toLowerCase();

const aboutEntry = (entry, show) =>
  [show.name, aboutShow(show), entry.ring && `ring ${entry.ring}`, entry.time, entry.judge].filter(Boolean).join(" · ");

/** {item: {id, state, at}}: of an item ticked on two phones the newest tick counts. */
function newestTicks(about) {
  const ticks = new Map();
  for (const { id, kind, values } of about) {
    if (kind === "gate" && !(ticks.get(values.item)?.at > values.at)) ticks.set(values.item, { id, ...values });
  }
  return ticks;
}

// --- what can be looked up

function find(file, entry, show, rules) {
  return [
    ...classFinding(file, entry, show, rules),
    ...limitFindings(file, show.values),
    ...testesFinding(file.dog),
    ...chipFinding(file.dog, rules),
  ];
}

function classFinding(file, { id, values: entry }, show, rules) {
  const body = bodyOf(show);
  const all = file.pack?.enter;
  const change = { href: `#/entry/${id}`, label: "Choose the class" };
  if (!all?.w[body]) {
    return [
      {
        state: "unknown",
        words: "Class not looked up",
        remedy: "Let this phone meet the book once, with the day of whelping written down.",
        act: { href: `#/dog/${file.dog.id}/edit`, label: "Edit the dog" },
      },
    ];
  }
  const { first, last, shown } = { first: show.values.day, last: show.values.until, shown: entry.day };
  const open = rulings(all, rules.windows, body, shown ?? first)
    .filter((one) => one.verdict === "may")
    .map((one) => one.name);
  const instead = open.length
    ? `Open to this dog: ${open.slice(0, MOST_SHOWN).join(", ")}${open.length > MOST_SHOWN ? ` and ${open.length - MOST_SHOWN} more` : ""}.`
    : "No class is simply open to this dog that day: speak to the secretary.";
  if (!entry.klass) return [{ state: "unknown", words: "No class noted yet", remedy: instead, act: change }];
  if (!all.w[body][entry.klass]) {
    return [
      {
        state: "unknown",
        words: "Class not known here",
        remedy: `${show.values.body} has no class of that name in our library. ${instead}`,
        act: change,
      },
    ];
  }
  const one = rulingAt(all, rules.windows, body, entry.klass, { first, last, shown });
  const told = {
    source: `${sourceOf(one).words} ${rules.windows.b[body].g}`,
    remedy: [
      one.why,
      ...one.readings,
      file.isPackStale ? "Worked out before the last change on this phone; meet the book." : "",
    ]
      .filter(Boolean)
      .join(" "),
  };
  if (one.verdict === "may") return [{ ...told, state: "right", words: `May enter ${one.name}` }];
  if (one.verdict === "may if")
    return [
      {
        ...told,
        state: "unknown",
        words: `${one.name}: may enter, if`,
        remedy: `${told.remedy} The show's schedule decides.`,
      },
    ];
  return [
    {
      ...told,
      state: "wrong",
      words: refusal(one),
      remedy: `${told.remedy} ${instead} The show's schedule decides.`,
      act: change,
    },
  ];
}

/** "A day too young for Puppy": by how much, where it is a matter of days. */
function refusal({ name, why, day, from, opens }) {
  const [short] = why.split(/[:;.]/);
  const days =
    short === "Too young" && opens
      ? daysBetween(day, opens)
      : short === "Too old" && from
        ? daysBetween(from, day) + 1
        : 0;
  if (!short.startsWith("Too ")) return `${name}: ${short.charAt(0).toLowerCase()}${short.slice(1)}`;
  if (!days || days > FEW_DAYS) return `${short} for ${name}`;
  return `${days === 1 ? "A day" : `${days} days`} ${short.toLowerCase()} for ${name}`;
}

// Of limits that do not disqualify, only one that is passed is worth a look here.
function limitFindings(file, show) {
  const act = { href: `#/dog/${file.dog.id}/measures`, label: "Weigh or measure" };
  const found = (file.pack?.limits ?? [])
    .filter((limit) => limit.of === show.body)
    .map((limit) => ({
      ...limitState(limit, file.measures),
      isBar: limit.weight === "disqualifying",
      source: limitSource(limit),
    }));
  return found
    .filter(({ state, isBar }) => isBar || state === "off")
    .map(({ state, words, more, source }) => {
      const again = state === "wrong" ? " Weigh or measure again; if it holds, ask the steward before you go in." : "";
      return {
        state: state === "off" ? "unknown" : state,
        words,
        remedy: `${more}${again}`,
        source,
        act: state === "right" ? null : act,
      };
    });
}

function testesFinding({ id, values: { sex, testes, testes_on: felt, neutered } }) {
  if (sex !== "dog" || neutered) return [];
  const act = { href: `#/dog/${id}/edit`, label: "Write it down" };
  const source = "Your own record of this dog. Each body says what follows; the class above has its clause.";
  const on = felt ? `Felt on ${sayDay(felt)}.` : "The day was not written down.";
  if (testes === "both") return [{ state: "right", words: "Both testes down", remedy: on, source }];
  if (!testes)
    return [
      { state: "unknown", words: "Testes not written down", remedy: "Feel for both, and note the day.", source, act },
    ];
  return [
    {
      state: "wrong",
      words: testes === "one" ? "One testis down, not both" : "No testis felt",
      remedy: `${on} See a vet before you enter again. Whether he may be shown is for the rules of the show.`,
      source,
      act,
    },
  ];
}

function chipFinding({ id, values: { microchip } }, rules) {
  if (!microchip) return [];
  const { fine, message } = checkChip(microchip, rules.chips);
  const source = "ISO 11784 and 11785: fifteen digits, the first three a country or a maker. In our own words.";
  if (fine) return [{ state: "right", words: "Chip number looks right", remedy: `${microchip}. ${message}`, source }];
  return [
    {
      state: "unknown",
      words: "Chip number looks odd",
      remedy: `${microchip}: ${message} It is kept as typed.`,
      source,
      act: { href: `#/dog/${id}/edit`, label: "Look at it again" },
    },
  ];
}

// --- the items for one's own eyes

function itemsOf(gateBook, entry, dog, kit) {
  const has = { armband: entry.armband, ring: entry.ring && entry.time, microchip: dog.microchip };
  const listed = gateBook.items.map((item) => ({
    ...item,
    isLacking: Boolean(item.needs) && !has[item.needs],
    text: worded(item, entry),
  }));
  return [...listed, ...kit.map((row) => ({ id: row.id, group: OWN.id, text: row.values.line, isOwn: true }))];
}

function worded(item, entry) {
  if (item.needs === "armband" && entry.armband) return `Armband ${entry.armband} on left arm`;
  if (item.needs === "ring" && entry.ring) return `Ring ${entry.ring}${entry.time ? `, ${entry.time}` : ""}`;
  return item.text;
}

const itemSource = (item) => (item.source === "common practice" ? COMMON : item.source);

function lackOf(item, entryId, file) {
  const act =
    item.needs === "microchip"
      ? { href: `#/dog/${file.dog.id}/edit`, label: "Write it down" }
      : { href: `#/entry/${entryId}`, label: "Note it" };
  return {
    state: item.grave ? "wrong" : "unknown",
    words: item.lacking,
    remedy: item.remedy,
    source: itemSource(item),
    act,
  };
}

const notReadyOf = (item) => ({
  state: "wrong",
  words: `${item.text}: not ready`,
  remedy: item.help ?? "",
  source: item.isOwn ? "You wrote this item yourself." : itemSource(item),
});

const groupsOf = (groups, items) =>
  [...groups, OWN]
    .map((group) => ({ group, items: items.filter((item) => item.group === group.id) }))
    .filter(({ items: own }) => own.length);

function itemNode(item, file, stateOf, mark, removeOwn) {
  const node = fill(clone("gate-item"), {
    words: item.text,
    help: item.isOwn ? `Your own item for ${file.dog.values.name}.` : item.help,
    source: item.isOwn ? null : itemSource(item),
    ...(item.isOwn ? {} : { remove: null }),
  });
  node.dataset.item = item.id;
  const why = part(node, "why");
  const help = part(node, "help-part");
  help.id = `gate-help-${item.id}`;
  why.setAttribute("aria-label", `Why: ${item.text}`);
  why.setAttribute("aria-controls", help.id);
  why.addEventListener("click", () => {
    help.hidden = !help.hidden;
    why.setAttribute("aria-expanded", String(!help.hidden));
  });
  part(node, "not").setAttribute("aria-label", `Not ready: ${item.text}`);
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
function findingNode({ state, words, remedy = "", source = "", act = null }) {
  const node = fill(clone("gate-finding"), {
    icon: icon(MARKS[state]),
    words,
    remedy: remedy || null,
    act: act ? act.label : null,
    ...(source ? { "source-words": source } : { source: null }),
  });
  if (act) part(node, "act").href = act.href;
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
