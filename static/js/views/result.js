// The result of an entry: placing, grade, awards, critique, and what each station teaches, on one screen.
// All of it is written as it is tapped, or when a field is left; Undo takes it back step by step.

import { problem } from "../core/check.js";
import { sayDay } from "../core/days.js";
import { held } from "../core/held.js";
import { awardId, judgeKey, lessonId, resultId } from "../core/results.js";
import { localDay } from "../core/words.js";
import { cardOf, dogFile, stationsOf } from "../dogfile.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { allWell, read, show as showValues, tell } from "../forms.js";
import { drafting } from "../parts/drafts.js";
import { entryAndShow } from "../parts/entries.js";
import { rowsOf } from "../parts/guard.js";
import { lineNode } from "../parts/lines.js";
import { dogName, showName } from "../parts/names.js";
import { judgeBefore, SAYS } from "../parts/results.js";
import { linkRow } from "../parts/rows.js";
import { Taps } from "../parts/taps.js";
import { kinds, resultsBook, homeBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "entry/:id/result": result };

const FIRST = "class-first";
const TYPED = ["critique", "well", "competing", "judge"];
const TOLD = { critique: "Critique", well: "What went well", competing: "Dogs in the class", judge: "Judge" };
const HINTS = {
  liked: "Tap what the judge liked.",
  named: "Tap what the judge found fault with. It comes up sooner in practice, for eight weeks.",
  practise: "Tap what to practise. It comes up sooner in practice, for eight weeks.",
};

async function result({ id }) {
  const found = await entryAndShow(id);
  const file = found && (await dogFile(found.entry.values.dog));
  if (!file) return null;
  const facts = factsOf(id, found);
  const [book, rules, { result: declared }, rows, before] = await Promise.all([
    resultsBook(),
    homeBook(),
    kinds(),
    rowsNow(facts),
    judgeBefore(found.entry.values.judge, id),
  ]);
  const node = fill(clone("result"), {
    back: icon("back"),
    title: `${dogName(file.dog)}: result`,
    about: aboutWords(facts, rules),
    before: before ? [before] : [],
    lines: lines(book, facts.body),
    record: "See the record",
  });
  part(node, "back").href = `#/show/${facts.show}`;
  part(node, "record").href = `#/dog/${facts.dog}/record`;
  const form = part(node, "form");
  let says = "practise";
  /** @type {(() => void)[]} */
  const drawers = [];
  const taps = new Taps(rows, draw);
  const now = () => taps.of("result", facts.id) ?? {};

  // --- what a tap does

  /** The writes that set `values` of the result; an award typed elsewhere becomes one of this entry. */
  function set(values) {
    const { entry, dog, show, day, klass, judge } = facts;
    const known = { entry, dog, show, day, klass };
    const own = now().judge === undefined && judge ? { judge, judge_key: judgeKey(judge) } : {};
    const adopted = awardsHere().filter((award) => award.values.entry !== entry);
    return [
      { kind: "result", id: facts.id, values: { ...given(known), ...own, ...values } },
      ...adopted.map((award) => ({ kind: "award", id: award.id, values: { entry } })),
    ];
  }

  const awardsHere = () => taps.all("award").filter(({ values }) => values.body === facts.body);
  const won = (what) => awardsHere().filter(({ values }) => values.what === what);
  const judge = () => (now().judge === undefined ? facts.judge : now().judge) || null;

  function award(what) {
    const { entry, dog, day, body, level, klass, name } = facts;
    const { competing } = now();
    const values = { dog, entry, day, body, what, level, klass, competing, judge: judge(), show: name };
    return { kind: "award", id: awardId(entry, what), values: given(values) };
  }

  const unwon = (what) => won(what).map(({ id: one }) => ({ kind: "award", id: one, values: { deleted: true } }));

  function tap(writes, words) {
    navigator.vibrate?.(30);
    taps.tap(writes, words);
    say(`${words}.`);
  }

  // Who wins a class has its first prize: one tap writes both.
  function place(placing, name) {
    const next = now().placing === placing ? null : placing;
    const isAward = held(held(rules.awards, facts.body), FIRST) !== undefined;
    const first = next === "1" ? (won(FIRST).length ? [] : [award(FIRST)]) : now().placing === "1" ? unwon(FIRST) : [];
    tap([...set({ placing: next }), ...(isAward ? first : [])], next ? name : "No placing");
  }

  function grade(wanted, name) {
    const isSame = now().grade === wanted;
    tap(set({ grade: isSame ? null : wanted }), isSame ? "No grade" : name);
  }

  function toggleAward(what, name) {
    const isWon = won(what).length > 0;
    tap([...set({}), ...(isWon ? unwon(what) : [award(what)])], isWon ? `Not won: ${name}` : name);
  }

  function mark({ id: station, name }) {
    const one = { kind: "lesson", id: lessonId(facts.id, station, says) };
    const isOn = taps.of("lesson", one.id) !== null;
    const values = { result: facts.id, dog: facts.dog, station, says, day: facts.day, judge_key: judgeKey(judge()) };
    const words = `${name}: ${isOn ? "not " : ""}${SAYS[says].words.toLowerCase()}`;
    tap([...set({}), { ...one, values: isOn ? { deleted: true } : given(values) }], words);
  }

  /** Keep what is typed, as a field is left; what cannot be kept stays in it, and is told. */
  async function keepTyped() {
    const typed = Object.entries(read(form, TYPED, declared.fields)).filter(([name, value]) => value !== shown(name));
    const wrong = typed
      .map(([name, value]) => [name, problem(declared.fields[name], value)])
      .filter(([, reason]) => reason);
    const told = Object.fromEntries(wrong.map(([name, reason]) => [name, `This ${reason}.`]));
    /** @type {Record<string, any>} */
    const changed = Object.fromEntries(typed.filter(([name]) => !Object.hasOwn(told, name)));
    if (Object.hasOwn(changed, "judge")) changed.judge_key = judgeKey(changed.judge) || null;
    const names = Object.keys(changed).flatMap((name) => TOLD[name] ?? []);
    const kept = names.length ? taps.tap([...set(changed), ...hanging(changed)], names.join(", ")) : null;
    allWell(node, form, told, false);
    await kept;
    if (!wrong.length && !taps.unkept) await drafts.saved();
  }

  /** What of awards and lessons says the same as the result.
      @param {Record<string, any>} changed */
  function hanging(changed) {
    const { judge: name, judge_key: key, competing } = changed;
    const award = given({ judge: name, competing });
    const ofAwards = Object.keys(award).length ? awardsHere() : [];
    const ofLessons = key === undefined ? [] : taps.all("lesson");
    return [
      ...ofAwards.map((one) => ({ kind: "award", id: one.id, values: award })),
      ...ofLessons.map((one) => ({ kind: "lesson", id: one.id, values: { judge_key: key } })),
    ];
  }

  const shown = (name) => (name === "judge" ? judge() : (now()[name] ?? null));

  function undo() {
    taps.undo();
    for (const name of TYPED) form.elements[name].value = String(shown(name) ?? "");
    say("Undone.");
  }

  // --- what is shown

  /** @param {() => Node[]} marks */
  function button(words, isOn, act, marks = () => []) {
    const made = fill(clone("result-button"), { words });
    drawers.push(() => {
      part(made, "button").setAttribute("aria-pressed", String(isOn()));
      fill(made, { marks: marks() });
    });
    return on(made, "button", act);
  }

  function choices() {
    const { body, klass, level } = facts;
    const placings = book.placings.filter((one) => one.bodies.includes(body) || one.id === now().placing);
    const ofBody = book.grades.filter((one) => one.body === body);
    const young = ofBody.filter((one) => one.young.includes(klass));
    const usual = young.length ? young : ofBody.filter((one) => !one.young.length);
    const grades = ofBody.filter((one) => usual.includes(one) || one.id === now().grade);
    const names = held(rules.awards, body) ?? {};
    const barred = book.only.filter((one) => one.body === body && level && !one.levels.includes(level));
    // What few dogs win in a day stands aside.
    const few = held(rules.rare, body) ?? [];
    const isRare = (what) => few.includes(what) || barred.some((one) => one.awards.includes(what));
    const [rare, usualAwards] = [true, false].map((is) => Object.keys(names).filter((what) => isRare(what) === is));
    const toggle = (what) =>
      button(
        capital(names[what]),
        () => won(what).length > 0,
        () => toggleAward(what, capital(names[what])),
      );
    fill(node, {
      placings: placings.map((one) =>
        button(
          one.name,
          () => now().placing === one.id,
          () => place(one.id, one.name),
        ),
      ),
      grades: grades.map((one) =>
        button(
          one.name,
          () => now().grade === one.id,
          () => grade(one.id, one.name),
        ),
      ),
      awards: usualAwards.map(toggle),
      rare: rare.map(toggle),
      stations: stationsOf(cardOf(file)).map(stationButton),
      says: Object.entries(SAYS).map(([value, { words }]) => saysChoice(value, words)),
    });
    part(node, "grades-part").hidden = grades.length === 0;
    part(node, "awards-part").hidden = rare.length + usualAwards.length === 0;
    part(node, "rare-part").hidden = rare.length === 0;
    part(node, "rare-part").open = rare.some((what) => won(what).length > 0);
  }

  function stationButton(station) {
    const has = (kind) => taps.of("lesson", lessonId(facts.id, station.id, kind)) !== null;
    const marks = () =>
      Object.keys(SAYS)
        .filter(has)
        .map((kind) => {
          const sign = icon(SAYS[kind].icon);
          sign.setAttribute("aria-label", SAYS[kind].words);
          return sign;
        });
    return button(
      station.name,
      () => has(says),
      () => mark(station),
      marks,
    );
  }

  function saysChoice(value, words) {
    const choice = fill(clone("choice"), { words });
    const input = part(choice, "input");
    input.name = "says";
    input.value = value;
    input.checked = says === value;
    input.addEventListener("change", () => {
      says = value;
      draw();
    });
    return choice;
  }

  function draw() {
    for (const one of drawers) one();
    const { last } = taps;
    fill(node, {
      "says-hint": HINTS[says],
      last: last ?? "",
      won: rowsOf(awardsHere(), ({ id: one, values }) =>
        linkRow(
          `#/dog/${facts.dog}/award/${one}`,
          `${capital(held(held(rules.awards, values.body), values.what) ?? values.what ?? "an award")}: points and more`,
        ),
      ),
    });
    part(node, "foot").hidden = last === undefined;
    tell(node, taps.unkept ? "Not saved yet. Trying again." : "");
  }

  choices();
  showValues(form, { ...now(), judge: judge() });
  draw();
  const drafts = await drafting(form, `result ${id}`, TYPED);
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("change", keepTyped);
  on(node, "undo", undo);
  return { node, title: "Result", leave: () => void keepTyped() };
}

/** What is known of a result before anything is tapped. */
function factsOf(entry, { entry: { values }, show }) {
  const { body, level, day, name } = show.values;
  return {
    id: resultId(entry),
    entry,
    dog: values.dog,
    show: show.id,
    name: name ?? null,
    body: body ?? "FCI",
    level: level ?? null,
    day: values.day ?? day ?? localDay(),
    klass: values.klass ?? null,
    judge: values.judge?.trim() || null,
    title: showName(show),
  };
}

/** The records that the screen shows: the result, its lessons, and the awards of that entry, or of that
    dog, day and show that name no entry. */
async function rowsNow({ id, entry, dog, day, name }) {
  const [one, lessons, ofEntry, since] = await Promise.all([
    store.get("result", id),
    store.about("lesson", id),
    store.about("award", entry),
    store.from("award", dog, day),
  ]);
  const free = since.filter(
    ({ values }) => values.day === day && !values.entry && (!values.show || !name || values.show === name),
  );
  return [...(one ? [one] : []), ...lessons, ...ofEntry, ...free];
}

/** The values that are there: null writes nothing. */
const given = (values) =>
  Object.fromEntries(Object.entries(values).filter(([, value]) => value != null && value !== ""));

function aboutWords({ title, day, klass, body }, { windows }) {
  const name = held(held(windows.b, body.toLowerCase())?.c, klass)?.n ?? klass;
  return [title, sayDay(day), name].filter(Boolean).join(" · ");
}

const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);

const lines = (book, body) =>
  book.lines.filter((line) => line.body === body).map((line) => lineNode(book, line, { words: line.says }));
