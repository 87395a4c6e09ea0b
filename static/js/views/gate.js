// The gate check: one dog, one show, as a careful steward would look. First what is wrong and what
// can still be done, then what is not known, then the items for one's own eyes. The app finds what
// it can look up; an item is ticked by the finger alone.

import { dogFile, rulesBook } from "../cards.js";
import { ruling, rulings } from "../core/rules.js";
import { few } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import * as store from "../store.js";
import { limitState } from "./measures.js";
import { aboutShow } from "./shows.js";

const STATES = {
  open: { icon: "open", words: "to do" },
  ready: { icon: "done", words: "ready" },
  "not ready": { icon: "missed", words: "not ready" },
};
const MARKS = { wrong: "missed", unknown: "open", right: "done" };
const MOST_SHOWN = 3;
const OWN = { id: "own", name: "Your own items" };

export async function gate({ id }) {
  const entry = await store.get(id);
  if (!entry || entry.values.deleted) return null;
  const [file, show, rules, about] = await Promise.all([
    dogFile(entry.values.dog),
    store.get(entry.values.show),
    rulesBook(),
    store.byAbout(id),
  ]);
  if (!file || !show) return null;
  const ticks = new Map(about.filter((row) => row.kind === "gate").map((row) => [row.values.item, row]));
  const node = fill(clone("gate"), {
    back: icon("back"),
    title: `Gate: ${file.dog.values.name}`,
    about: [show.values.name, aboutShow(show.values), entry.values.ring && `ring ${entry.values.ring}`, entry.values.time].filter(Boolean).join(" · "),
    governs: rules.windows.b[show.values.body.toLowerCase()]?.g ?? "",
  });
  part(node, "back").href = `#/show/${show.id}`;
  part(node, "edit").href = `#/entry/${id}`;
  let kit = file.kit;
  draw();

  function draw() {
    const findings = find(file, entry.values, show.values, rules);
    const items = itemsOf(rules.gate, entry.values, file.dog.values, kit);
    const state = (item) => ticks.get(item.id)?.values.state ?? "open";
    const notReady = items.filter((item) => state(item) === "not ready");
    const lacks = items.filter((item) => item.isLacking && state(item) === "open");
    const grave = lacks.filter((item) => item.grave).map(lackOf);
    const of = (kind) => findings.filter((one) => one.state === kind);
    const wrong = [...of("wrong"), ...notReady.map(notReadyOf), ...grave];
    const unknown = [...of("unknown"), ...lacks.filter((item) => !item.grave).map(lackOf)];
    const toDo = unknown.length + items.filter((item) => state(item) === "open" && !item.isLacking).length;
    fill(node, {
      count: countNodes(wrong.length, toDo),
      wrong: wrong.map(findingNode),
      unknown: unknown.map(findingNode),
      right: of("right").map(findingNode),
      groups: groupsOf(rules.gate, items).map(({ group, items: own }) => groupNode(group, own, state, mark)),
    });
    for (const [kind, list] of [["wrong", wrong], ["unknown", unknown], ["right", of("right")]]) {
      part(node, `${kind}-part`).hidden = list.length === 0;
    }
  }

  function mark(item, state) {
    const known = ticks.get(item.id);
    const values = { entry: id, item: item.id, state, at: new Date().toISOString() };
    ticks.set(item.id, { ...known, values });
    draw();
    say(`${item.text}: ${STATES[state].words}.`);
    part(node, "groups").querySelector(`[data-item="${CSS.escape(item.id)}"] .gate-tick`)?.focus({ preventScroll: true });
    store
      .write("gate", known?.id ?? null, values)
      .then((row) => ticks.set(item.id, { id: row, values: ticks.get(item.id).values }))
      .catch((error) => say(`Not saved: ${error.message} Tap again.`));
  }

  part(node, "kit-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const input = part(node, "kit-line");
    const line = input.value.trim();
    if (!line) return fill(node, { "kit-hint": "Write something first." });
    if ([...line].length > 40) return fill(node, { "kit-hint": "Keep it to forty letters; thirty read at a glance." });
    if (kit.length >= 7) return fill(node, { "kit-hint": "Seven items of your own are the most that a look can take. Remove one first." });
    await store.write("kit", null, { dog: file.dog.id, line });
    input.value = "";
    fill(node, { "kit-hint": "" });
    kit = (await store.byAbout(file.dog.id)).filter((row) => row.kind === "kit");
    draw();
  });
  return { node, title: `Gate: ${file.dog.values.name}` };
}

// --- what can be looked up

function find(file, entry, show, rules) {
  const day = entry.day ?? show.day;
  return [...classFinding(file, entry, show, day, rules), ...limitFindings(file, show), ...testesFinding(file.dog.values)];
}

function classFinding(file, entry, show, day, rules) {
  const body = show.body.toLowerCase();
  const windows = file.pack?.enter;
  if (!windows) return [{ state: "unknown", words: "Age and class not worked out", remedy: "Let this phone meet the book once, with the day of whelping written down." }];
  const all = rulings(windows, rules.windows, body, day);
  const open = all.filter((one) => one.verdict === "may").map((one) => one.name);
  const instead = open.length ? `Open to this dog that day: ${open.slice(0, MOST_SHOWN).join(", ")}.` : "No class is open to this dog that day: speak to the secretary.";
  if (!entry.klass) return [{ state: "unknown", words: "No class noted yet", remedy: instead }];
  const one = ruling(windows, rules.windows, body, entry.klass, day);
  const source = `${one.clause}, ${one.edition}`;
  if (one.verdict === "may") return [{ state: "right", words: `May enter ${one.name}`, remedy: one.why, source }];
  if (one.verdict === "may if") return [{ state: "unknown", words: `${one.name}: depends`, remedy: [one.why, ...one.readings].join(" "), source }];
  const short = one.why.split(/[:;.]/)[0].toLowerCase();
  return [{ state: "wrong", words: `${one.name}: ${short}`, remedy: `${one.why} ${instead} The show's schedule decides.`, source }];
}

function limitFindings(file, show) {
  const limits = (file.pack?.limits ?? []).filter((limit) => limit.weight === "disqualifying" && limit.of === show.body);
  return limits.map((limit) => {
    const { state, words, more } = limitState(limit, file.measures);
    const remedy = state === "wrong" ? `${more} Weigh or measure again; if it holds, ask the steward before you go in.` : more;
    return { state, words, remedy, source: limit.source };
  });
}

function testesFinding({ sex, testes, testes_on: on }) {
  if (sex !== "dog") return [];
  if (testes === "both") return [{ state: "right", words: `Both testes down${on ? `, felt ${on}` : ""}` }];
  if (!testes) return [{ state: "unknown", words: "Testes not written down", remedy: "Note under Edit what was felt, and when." }];
  return [
    {
      state: "wrong",
      words: testes === "one" ? "One testis down, not both" : "No testis felt",
      remedy: "See a vet before you enter again. Whether he may be shown is for the rules of the show.",
    },
  ];
}

// --- the items for one's own eyes

function itemsOf(gateBook, entry, dog, kit) {
  const has = { armband: entry.armband, ring: entry.ring && entry.time, microchip: dog.microchip };
  const listed = gateBook.items.map((item) => ({ ...item, isLacking: Boolean(item.needs) && !has[item.needs], text: worded(item, entry) }));
  return [...listed, ...kit.map((row) => ({ id: row.id, group: OWN.id, text: row.values.line }))];
}

function worded(item, entry) {
  if (item.needs === "armband" && entry.armband) return `Armband ${entry.armband} on left arm`;
  if (item.needs === "ring" && entry.ring) return `Ring ${entry.ring}${entry.time ? `, ${entry.time}` : ""}`;
  return item.text;
}

const lackOf = (item) => ({ state: item.grave ? "wrong" : "unknown", words: item.lacking, remedy: item.remedy });
const notReadyOf = (item) => ({ state: "wrong", words: `${item.text}: not ready`, remedy: item.help ?? "" });

const groupsOf = (gateBook, items) =>
  [...gateBook.groups, OWN].map((group) => ({ group, items: items.filter((item) => item.group === group.id) })).filter(({ items: own }) => own.length);

function groupNode(group, items, state, mark) {
  const ready = items.filter((item) => state(item) === "ready").length;
  return fill(clone("gate-group"), {
    name: group.name,
    done: ready === items.length ? `Complete ${ready}/${items.length}` : `${ready} of ${items.length} ready`,
    items: items.map((item) => itemNode(item, state(item), mark)),
  });
}

function itemNode(item, state, mark) {
  const shown = STATES[state];
  const node = fill(clone("gate-item"), { icon: icon(shown.icon), words: item.text, state: shown.words, help: item.help ?? "" });
  node.dataset.item = item.id;
  node.dataset.state = state.replace(" ", "-");
  part(node, "not").setAttribute("aria-label", `${item.text}: not ready`);
  if (!item.help) part(node, "help-part").remove();
  on(node, "tick", () => mark(item, state === "ready" ? "open" : "ready"));
  return on(node, "not", () => mark(item, state === "not ready" ? "open" : "not ready"));
}

function findingNode({ state, words, remedy = "", source = "" }) {
  return fill(clone("gate-finding"), {
    icon: icon(MARKS[state]),
    words,
    remedy: remedy || null,
    ...(source ? { "source-words": source } : { source: null }),
  });
}

function countNodes(wrong, toDo) {
  const words = (count, mark, said) => {
    const line = document.createElement("span");
    line.append(icon(mark), ` ${said}`);
    return line;
  };
  if (!wrong && !toDo) return [words(0, "done", "All in order")];
  return [wrong && words(wrong, "missed", `${wrong} wrong`), toDo && words(toDo, "open", few(toDo, "to do", "to do"))].filter(Boolean);
}
