// What the gate check finds: what is wrong, what is not settled, what is only advice. Data in, data out;
// the same as ringside/domain/gate.py, and tests/vectors/rules/gate.json holds the two together.

import { checkChip } from "./chip.js";
import { daysBetween, sayDay } from "./days.js";
import { limitSource, limitState } from "./limits.js";

const MOST_NAMED = 3;
const FEW_DAYS = 60;
const OWN = "own";
const TO_SETTLE = "settle";
const GRAVEST = ["wrong", "unknown", "advice", "right"];
const FOLLOWS = { "may not": "wrong", "may if": "unknown", may: "advice" };

/** @typedef {import("./says.js").Saying} Saying */
/** What mends it, and a point: sayings, what to do (`remedy`) before the reasons; `tick`: a finger can
    tick it. "wrong" bars, "unknown" wants settling, "advice" bars nobody, "right" is in order by what is
    written down; a row or an advice is "open" or "ready", and of a `group`.
    @typedef {{ to: "dog" | "show" | "entry" | "measures", words: Saying }} Act
    @typedef {{ id: string, state: string, words: Saying, remedy: Saying[], why: Saying[], source: Saying[],
      act: Act | null, tick: boolean, group?: string }} Point */

const say = (says, held = {}) => ({ says, ...held });
/** @type {(id: string, state: string, words: Saying, more?: any) => Point} */
const point = (id, state, words, { remedy = [], why = [], source = [], act = null, tick } = {}) => ({
  id,
  state,
  words,
  remedy,
  why,
  source,
  act,
  tick: tick ?? (state === "unknown" || state === "advice"),
});

/** @type {(words: string) => Act} */
const EDIT = (words) => ({ to: "dog", words: say(words) });
/** @type {(words: string) => Act} */
const ENTRY = (words) => ({ to: "entry", words: say(words) });

/** All that can be looked up. `standing` and `bars` are those of core/rules.js; `dog` the values of its
    record. */
export function findings({ standing, body, klass, isDated, isStale, limits, measures, bars, dog, chips }) {
  return [
    classFinding(standing, { body, klass, isDated, isStale }),
    ...limitFindings(limits, measures, body),
    ...testesFinding(dog, bars),
    chipFinding(dog.microchip, chips),
  ];
}

// --- the class

const ofClass = (state, words, more) => point("class", state, words, more);

/** Whether it may go into its class; `isDated`: the day of the show is known; `isStale`: worked out before
    the last change on this phone. */
export function classFinding(standing, { body, klass, isDated = true, isStale }) {
  if (!body || !isDated) {
    const act = { to: "show", words: say("edit-show") };
    return ofClass("unknown", say("class-unseen"), { remedy: [say("note-show")], act });
  }
  if (!standing) return ofClass("unknown", say("class-unseen"), { remedy: [say("meet-book")], act: EDIT("edit-dog") });
  const { open, ruling } = standing;
  if (!klass || !ruling) return withoutClass(standing, body, klass);
  const { name, verdict } = ruling;
  const why = [ruling.why, ...ruling.readings, ...(isStale ? [say("stale")] : [])];
  const source = [ruling.source];
  const schedule = say("schedule");
  if (verdict === "may") return ofClass("right", say("class-may", { name }), { why, source });
  if (verdict === "may if") return ofClass("unknown", say("class-if", { name }), { remedy: [schedule], why, source });
  const act = ENTRY("choose-class");
  return ofClass("wrong", refusal(ruling), { remedy: [openTo(open)], why: [...why, schedule], source, act });
}

function withoutClass({ open, opens }, body, klass) {
  const act = ENTRY("choose-class");
  if (opens) {
    const first = say("first-class", { name: opens.name, day: sayDay(opens.from) });
    return ofClass("wrong", say("too-young-all"), { remedy: [first], why: [say("schedule")] });
  }
  const remedy = [openTo(open)];
  if (!klass) return ofClass("unknown", say("class-none"), { remedy, act });
  return ofClass("unknown", say("class-strange"), { remedy, why: [say("not-of-body", { body })], act });
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

/** What the limits of the body say: one finding of weight and one of height, the gravest. Of those that do
    not disqualify, only one that is passed is worth a look. */
export function limitFindings(limits, measures, body) {
  /** @type {Map<string, Point[]>} */
  const byMeasure = new Map();
  for (const limit of limits.filter((one) => one.of === body)) {
    const made = limitFinding(limit, measures);
    if (limit.weight !== "disqualifying" && made.state !== "advice") continue;
    byMeasure.set(made.id, [...(byMeasure.get(made.id) ?? []), made]);
  }
  return [...byMeasure.values()].map(gravest);
}

function limitFinding(limit, measures) {
  const { state, words, more } = limitState(limit, measures);
  return point(limit.what, state === "off" ? "advice" : state, words, {
    remedy: state === "wrong" ? [say("measure-again")] : [],
    why: more,
    source: limitSource(limit),
    act: state === "right" ? null : { to: "measures", words: say("measure") },
  });
}

function gravest(found) {
  const rank = ({ state }) => GRAVEST.indexOf(state);
  const [first] = [...found].sort((one, other) => rank(one) - rank(other));
  const same = found.filter((one) => one.state === first.state);
  return { ...first, why: once(same.flatMap((one) => one.why)), source: once(same.flatMap((one) => one.source)) };
}

/** Sayings without those that were said before. */
const once = (sayings) => [...new Map(sayings.map((saying) => [JSON.stringify(saying), saying])).values()];

/** What was felt, of a male that is not neutered; `bars` tell whether the body bars him. What is missing is
    for a vet. */
export function testesFinding({ sex, neutered, testes, testes_on: felt }, bars) {
  if (sex !== "dog" || neutered) return [];
  const bar = bars.find((one) => one.question === "testes");
  const act = EDIT("write-down");
  const source = [say("own-record"), ...(bar ? [bar.source] : [])];
  const barred = bar ? [bar.why] : [];
  const missing = bar ? FOLLOWS[bar.verdict] : "unknown";
  if (!testes) {
    const state = missing === "advice" ? missing : "unknown";
    return [point("testes", state, say("testes-unknown"), { remedy: [say("feel")], why: barred, source, act })];
  }
  const on = felt ? say("felt", { day: sayDay(felt) }) : say("felt-undated");
  const words = say(`testes-${testes}`);
  if (testes === "both") return [point("testes", "right", words, { why: [on], source })];
  return [point("testes", missing, words, { remedy: [say("see-vet")], why: [on, ...barred], source, act })];
}

/** Whether there is a chip number and looks right; none of it bars a dog. */
export function chipFinding(number, codes) {
  if (!number) {
    const about = { remedy: [say("chip-ask")], source: [say("common-practice")], act: EDIT("write-down") };
    return point("chip", "advice", say("chip-none"), about);
  }
  const { fine, message } = checkChip(number, codes);
  const source = [say("chip-source")];
  if (fine) return point("chip", "right", say("chip-right"), { why: [say("chip-fine", { number, message })], source });
  const remedy = [say("chip-kept", { number, message })];
  return point("chip", "advice", say("chip-odd"), { remedy, source, act: EDIT("look-again") });
}

// --- the items for one's own eyes

/** The items of the list and the dog's own: {id, group, text, ...}; each keeps those of `bars` that it asks
    about. `missing`: what it needs is not written down. `text` is a saying. */
export function itemsOf(listed, entry, kit, bars) {
  const has = { armband: entry.armband, ring: entry.ring && entry.time };
  const asked = listed.map((item) => ({
    ...item,
    bars: bars.filter((bar) => item.bars?.includes(bar.question)),
    missing: Boolean(item.needs) && !has[item.needs],
  }));
  return [
    ...asked.filter((item) => item.bars.length || !item.where_barred),
    ...kit.map(({ id, line }) => ({
      id,
      group: OWN,
      text: line?.trim() || say("own-wordless"),
      own: true,
      bars: [],
      missing: false,
    })),
  ];
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

// --- all of it, sorted

/** Each point once: what is `wrong`, the `rows` to tick, `advice` and what is `right`; and how many are
    left `todo`, neither wrong nor done. Advice never counts. `states`: a Map by point.
    @returns {{ wrong: Point[], rows: Point[], advice: Point[], right: Point[], todo: number }} */
export function sortOut(findings, items, states) {
  const of = (state) => findings.filter((one) => one.state === state);
  const drawn = (one, group) => ({ ...one, state: states.get(one.id) === "ready" ? "ready" : "open", group });
  const wrong = of("wrong");
  const rows = of("unknown").map((one) => drawn(one, TO_SETTLE));
  const advice = of("advice").map((one) => drawn(one, ""));
  for (const item of items) {
    const made = itemPoint(item, states.get(item.id) ?? "open");
    if (made.state === "open") rows.push(drawn(made, item.group));
    else if (made.state === "advice") advice.push(drawn(made, ""));
    else wrong.push(made);
  }
  const todo = [...wrong.filter((one) => one.state !== "wrong"), ...rows.filter((row) => row.state === "open")].length;
  return { wrong, rows, advice, right: of("right"), todo };
}

/** An item as a point: "open" for a row, else what is found where it is denied or lacking. */
function itemPoint(item, state) {
  const remedy = item.help ? [item.help] : [];
  const why = item.bars.flatMap((bar) => [bar.why, ...(bar.asks ? [say("only-if", { asks: bar.asks })] : [])]);
  const source = once([itemSource(item), ...item.bars.map((bar) => bar.source)]);
  if (state === "not ready") {
    const found = GRAVEST.find((one) => item.bars.some((bar) => FOLLOWS[bar.verdict] === one)) ?? "wrong";
    const words = item.denied ?? say("not-ready", { item: item.text });
    return point(item.id, found, words, { remedy, why, source, tick: true });
  }
  if (state === "open" && item.missing)
    return point(item.id, "wrong", item.lacking, { remedy: [item.remedy], source, act: ENTRY("note"), tick: true });
  return point(item.id, "open", item.text, { remedy, why, source, tick: true });
}
