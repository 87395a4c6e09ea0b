// What the gate check finds: what is wrong, what is not known, what is in order. Data in, data out; the
// same as ringside/domain/gate.py, and tests/vectors/rules/gate.json holds the two together.

import { checkChip } from "./chip.js";
import { daysBetween, sayDay } from "./days.js";
import { limitSource, limitState } from "./limits.js";

const MOST_NAMED = 3;
const FEW_DAYS = 60;
const OWN = "own";

/** @typedef {import("./says.js").Saying} Saying */
/** Sayings, and what can be done about it.
    @typedef {{ to: "dog" | "show" | "entry" | "measures", words: Saying }} Act
    @typedef {{ state: "wrong" | "unknown" | "right", words: Saying, remedy: Saying[], source: Saying[], act: Act | null }} Finding */

const say = (says, held = {}) => ({ says, ...held });
/** @type {(state: Finding["state"], words: Saying, remedy: Saying[], more?: { source?: Saying[], act?: Act | null }) => Finding} */
const found = (state, words, remedy, { source = [], act = null } = {}) => ({ state, words, remedy, source, act });

/** @type {(words: string) => Act} */
const EDIT = (words) => ({ to: "dog", words: say(words) });
/** @type {(words: string) => Act} */
const ENTRY = (words) => ({ to: "entry", words: say(words) });

/** All that can be looked up. `standing` is that of core/rules.js; `dog` the values of its record. */
export function findings({ standing, body, klass, isDated, isStale, limits, measures, dog, chips }) {
  return [
    classFinding(standing, { body, klass, isDated, isStale }),
    ...limitFindings(limits, measures, body),
    ...testesFinding(dog),
    ...chipFinding(dog.microchip, chips),
  ];
}

// --- the class

/** Whether it may go into its class; `isDated`: the day of the show is known, as its body is if there
    is one; `isStale`: worked out before the last change on this phone. */
export function classFinding(standing, { body, klass, isDated = true, isStale }) {
  if (!body || !isDated) {
    const act = /** @type {Act} */ ({ to: "show", words: say("edit-show") });
    return found("unknown", say("class-unseen"), [say("note-show")], { act });
  }
  if (!standing) return found("unknown", say("class-unseen"), [say("meet-book")], { act: EDIT("edit-dog") });
  const { open, ruling } = standing;
  const act = ENTRY("choose-class");
  const instead = openTo(open);
  if (!klass) return found("unknown", say("class-none"), [instead], { act });
  if (!ruling) return found("unknown", say("class-strange"), [say("not-of-body", { body }), instead], { act });
  const { name, verdict } = ruling;
  const told = [ruling.why, ...ruling.readings, ...(isStale ? [say("stale")] : [])];
  const source = [ruling.source];
  if (verdict === "may") return found("right", say("class-may", { name }), told, { source });
  if (verdict === "may if") return found("unknown", say("class-if", { name }), [...told, say("schedule")], { source });
  return found("wrong", refusal(ruling), [...told, instead, say("schedule")], { source, act });
}

function openTo(names) {
  if (!names.length) return say("open-none");
  const classes = names.slice(0, MOST_NAMED).join(", ");
  const more = names.length - MOST_NAMED;
  return more > 0 ? say("open-more", { classes, more }) : say("open", { classes });
}

/** By how much it is too young or too old, where that is a matter of days; else the reason's opening. */
function refusal({ name, why, age, day, from, opens }) {
  if (!age) {
    const [short] = why.split(/[:;.]/);
    return say("barred", { name, why: `${short.charAt(0).toLowerCase()}${short.slice(1)}` });
  }
  const days = age === "young" ? opens && daysBetween(day, opens) : from && daysBetween(from, day) + 1;
  if (!(days > 0 && days <= FEW_DAYS)) return say(`too-${age}`, { name });
  return days === 1 ? say(`day-too-${age}`, { name }) : say(`days-too-${age}`, { name, days });
}

// --- limits, testes, chip

/** The limits of the body. Of those that do not disqualify, only one that is passed is worth a look. */
export function limitFindings(limits, measures, body) {
  return limits
    .filter((limit) => limit.of === body)
    .map((limit) => ({ limit, ...limitState(limit, measures) }))
    .filter(({ limit, state }) => limit.weight === "disqualifying" || state === "off")
    .map(({ limit, state, words, more }) =>
      found(state === "off" ? "unknown" : state, words, state === "wrong" ? [...more, say("measure-again")] : more, {
        source: limitSource(limit),
        act: state === "right" ? null : { to: "measures", words: say("measure") },
      }),
    );
}

/** What was felt, of a male that is not neutered. What is missing is for a vet. */
export function testesFinding({ sex, neutered, testes, testes_on: felt }) {
  if (sex !== "dog" || neutered) return [];
  const act = EDIT("write-down");
  const source = [say("own-record")];
  const on = felt ? say("felt", { day: sayDay(felt) }) : say("felt-undated");
  if (!testes) return [found("unknown", say("testes-unknown"), [say("feel")], { source, act })];
  if (testes === "both") return [found("right", say("testes-both"), [on], { source })];
  return [found("wrong", say(`testes-${testes}`), [on, say("see-vet")], { source, act })];
}

/** Whether a chip number, where there is one, looks right. */
export function chipFinding(number, codes) {
  if (!number) return [];
  const { fine, message } = checkChip(number, codes);
  const source = [say("chip-source")];
  if (fine) return [found("right", say("chip-right"), [say("chip-fine", { number, message })], { source })];
  return [
    found("unknown", say("chip-odd"), [say("chip-kept", { number, message })], { source, act: EDIT("look-again") }),
  ];
}

// --- the items for one's own eyes

/** The items of the list and the dog's own: {id, group, text, ...}; `missing`: what it needs is not
    written down. `text` is a saying. */
export function itemsOf(listed, entry, dog, kit) {
  const has = { armband: entry.armband, ring: entry.ring && entry.time, microchip: dog.microchip };
  return [
    ...listed.map((item) => ({ ...item, text: worded(item, entry), missing: Boolean(item.needs) && !has[item.needs] })),
    ...kit.map(({ id, line }) => ({
      id,
      group: OWN,
      text: line?.trim() || say("own-wordless"),
      own: true,
      missing: false,
    })),
  ];
}

function worded({ needs, text }, { armband, ring, time }) {
  if (needs === "armband" && armband) return say("armband", { armband });
  if (needs === "ring" && ring) return time ? say("ring-time", { ring, time }) : say("ring", { ring });
  return text;
}

/** {item: tick} as a Map: of an item ticked on two phones the newest tick counts. A half one (no item,
    no state, no moment) is none. */
export function newestTicks(ticks) {
  const newest = new Map();
  for (const tick of ticks.filter(({ item, state, at }) => item && state && at)) {
    if (!(newest.get(tick.item)?.at > tick.at)) newest.set(tick.item, tick);
  }
  return newest;
}

/** Where an item comes from. */
export function itemSource({ own, source }) {
  if (own) return say("own-item");
  return source === "common practice" ? say("common-practice") : source;
}

/** What is wrong, not known and right, {wrong, unknown, right}: what was found, what an open item
    needs, what is not ready; and how many things are left `todo`. `states`: a Map by item. */
export function sortOut(findings, items, states) {
  const stateOf = (item) => states.get(item.id) ?? "open";
  const still = items.filter((item) => stateOf(item) === "open");
  const every = [...findings, ...still.filter((item) => item.missing).map(lackOf)];
  const of = (state) => every.filter((one) => one.state === state);
  const unready = items.filter((item) => stateOf(item) === "not ready").map(unreadyOf);
  return {
    wrong: [...of("wrong"), ...unready],
    unknown: of("unknown"),
    right: of("right"),
    todo: of("unknown").length + still.filter((item) => !item.missing).length,
  };
}

function lackOf(item) {
  const act = item.needs === "microchip" ? EDIT("write-down") : ENTRY("note");
  return found(item.grave ? "wrong" : "unknown", item.lacking, [item.remedy], { source: [itemSource(item)], act });
}

const unreadyOf = (item) =>
  found("wrong", say("not-ready", { item: item.text }), item.help ? [item.help] : [], { source: [itemSource(item)] });
