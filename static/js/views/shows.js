// Shows one means to go to, and which dog goes in where and when.

import { showsFrom } from "../coming.js";
import { reasons, shownProblem, timeProblem } from "../core/bounds.js";
import { nextOf } from "../core/coming.js";
import { dayOf, lastDay, sayDay } from "../core/days.js";
import { held } from "../core/held.js";
import { rulesOf, rulingAt, standing } from "../core/rules.js";
import { localDay } from "../core/words.js";
import { dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say, text } from "../dom.js";
import { keepUnknown, onSave, show as showValues, worthWriting } from "../forms.js";
import { oddRow, rowsOf, sectionOf } from "../parts/guard.js";
import { dogName, showName } from "../parts/names.js";
import { withOlder } from "../parts/older.js";
import { judgeBefore } from "../parts/results.js";
import { linkRow } from "../parts/rows.js";
import { meetingNode, meetingsOn } from "../parts/ringday.js";
import { aboutShow } from "../parts/showline.js";
import { showResults } from "../parts/showresults.js";
import { goInstead } from "../router.js";
import { kinds, rulesBook } from "../shipped.js";
import * as store from "../store.js";

const VERDICTS = { may: "May enter", "may if": "May enter on a condition", "may not": "May not enter" };

export const routes = {
  shows,
  "show/:id": show,
  "show/:id/enter/:dog": newEntry,
  "entry/:id": entryForm,
};

const PAST_AT_ONCE = 60;
const endOf = ({ values }) => lastDay(values);

async function shows() {
  const today = localDay();
  const [recent, undated] = await Promise.all([showsFrom(today), store.unordered("show", "")]);
  const coming = await inOrder(
    recent.filter((row) => endOf(row) >= today),
    today,
  );
  const node = fill(clone("shows"), {
    back: icon("back"),
    list: rowsOf([...undated.map((found) => ({ found })), ...coming], comingRow),
    add: [icon("add"), " Add a show"],
  });
  const past = part(node, "past");
  const isPast = (found) => Boolean(found.values.day) && endOf(found) < today;
  await withOlder(node, {
    name: "shows",
    step: PAST_AT_ONCE,
    read: (most, last) => store.newest("show", "", most, last ?? today, isPast),
    add: (rows) => past.append(...rowsOf(rows, row)),
  });
  part(node, "past-part").hidden = !past.children.length;
  const isEmpty = !coming.length && !past.children.length && !undated.length;
  fill(node, { words: isEmpty && "No shows yet. Add one and enter your dogs, and the gate check is ready." });
  part(node, "add").classList.toggle("main", isEmpty);
  return { node, title: "Shows", live: true };
}

/** The shows with what comes next of each, the soonest on top: [{found, next}]. */
async function inOrder(coming, today) {
  const told = coming.map(async (found) => {
    const { closing } = found.values;
    const isOpen = closing && closing >= today;
    const isEntered = isOpen ? allEntered(await store.about("entry", found.id)) : true;
    return { found, next: nextOf(found.values, isEntered, today) };
  });
  const key = ({ found, next }) => `${next.day} ${found.values.day}`;
  return (await Promise.all(told)).sort((one, other) => (key(one) < key(other) ? -1 : 1));
}

// An entry that has no class yet is one that is still to be sent.
const allEntered = (entries) => entries.length > 0 && entries.every(({ values }) => values.klass);

function comingRow({ found, next }) {
  const node = row(found);
  if (next?.words) part(node, "name").after(text("span", next.words, "day-state"));
  return node;
}

function row(found) {
  const { id, values } = found;
  const node = fill(clone("show-row"), {
    name: showName(found),
    about: aboutShow(values),
    icon: icon("onward"),
  });
  part(node, "link").href = `#/show/${id}`;
  return node;
}

async function show({ id }) {
  const [found, dogs, here] = await Promise.all([store.get("show", id), store.all("dog"), store.about("entry", id)]);
  if (!found || found.values.deleted) return null;
  const dogOf = (entry) => dogs.find((dog) => dog.id === entry.values.dog);
  const entered = new Set(here.map((entry) => entry.values.dog));
  const free = dogs.filter((dog) => !entered.has(dog.id));
  const isOver = endOf(found) < localDay();
  const node = fill(clone("show"), {
    back: icon("back"),
    name: showName(found),
    about: aboutShow(found.values),
    closing: closingWords(found.values, here) || null,
    entries: rowsOf(here, (entry) => entryRow(entry, dogOf(entry))),
    clocks: rowsOf(isOver ? [] : here.filter(dogOf), (entry) =>
      linkRow(`#/entry/${entry.id}/clock`, `Ring clock: ${dogName(dogOf(entry))}`),
    ),
    meets: isOver ? [] : await meetingNodes(found, here),
    before: beforeRows(found, isOver ? [] : here, dogOf),
    none: here.length ? null : true,
    ...(await showResults(found.values, here, dogOf)),
    dogs: rowsOf(free, (dog) => linkRow(`#/show/${id}/enter/${dog.id}`, dogName(dog))),
  });
  part(node, "results-part").hidden = part(node, "results").children.length === 0;
  part(node, "add-part").hidden = free.length === 0;
  part(node, "clock-part").hidden = isOver || !here.some(dogOf);
  part(node, "before-part").hidden = isOver;
  part(node, "edit").href = `#/show/${id}/edit`;
  return { node, title: showName(found), live: true };
}

/** Which dogs of the show may be called at once, on each day that one goes in. */
async function meetingNodes(show, entries) {
  const days = new Set(entries.map(({ values }) => dayOf(values, show.values, localDay())));
  const found = await Promise.all([...days].map((day) => meetingsOn(day)));
  return found.flatMap((all) => sectionOf(() => all.map((one) => meetingNode(one))));
}

/** What helps to get ready for a show: the countdown of each dog, the calendar. */
const beforeRows = (found, entries, dogOf) => [
  ...rowsOf(entries.filter(dogOf), (entry) =>
    linkRow(`#/entry/${entry.id}/countdown`, `Countdown: ${dogName(dogOf(entry))}`),
  ),
  linkRow(`#/show/${found.id}/calendar`, "Calendar"),
  linkRow(`#/show/${found.id}/heat`, "Heat"),
];

function closingWords({ closing }, entries) {
  if (!closing || (closing < localDay() && allEntered(entries))) return "";
  return closing < localDay() ? `Entries closed ${sayDay(closing)}` : `Entries close ${sayDay(closing)}`;
}

function entryRow(entry, dog) {
  if (!dog) return oddRow(entry, "This dog is not on this phone, or was removed.");
  const { ring, time, armband } = entry.values;
  const about = ["Gate check", ring && `ring ${ring}`, time, armband && `armband ${armband}`]
    .filter(Boolean)
    .join(" · ");
  const node = fill(clone("show-row"), { name: dogName(dog), about, icon: icon("onward") });
  part(node, "link").href = `#/gate/${entry.id}`;
  return node;
}

// The classes of the body, by whether this dog may enter them at this show.
function classOptions(select, found, entry, pack, rules) {
  const body = (found.values.body ?? "").toLowerCase();
  const key = rulesOf(rules.windows, found.values);
  const classes = held(rules.windows.b, body)?.c ?? {};
  const windows = pack?.enter;
  const verdict = (klass) =>
    found.values.day &&
    held(held(windows?.w, body), klass) &&
    rulingAt(windows, rules.windows, key, klass, {
      first: found.values.day,
      last: found.values.until,
      shown: entry.day,
    }).verdict;
  const options = Object.entries(classes).map(([klass, { n }]) => ({
    option: new Option(n, klass),
    verdict: verdict(klass),
  }));
  const groups = Object.entries(VERDICTS).flatMap(([wanted, label]) => {
    const own = options.filter((one) => one.verdict === wanted).map((one) => one.option);
    const group = document.createElement("optgroup");
    group.label = label;
    group.append(...own);
    return own.length ? [group] : [];
  });
  select.replaceChildren(
    new Option("Not entered yet", ""),
    ...groups,
    ...options.filter((one) => !one.verdict).map((one) => one.option),
  );
  keepUnknown(select, entry.klass);
}

// Whether this dog may enter the class that is chosen, why, and behind it where that stands; where
// nothing is known of the class, what governs them all.
function followRuling(node, form, { values: show }, pack, rules) {
  const { klass, day } = form.elements;
  const governs = held(rules.windows.b, (show.body ?? "").toLowerCase())?.g ?? "";
  const tell = () => {
    const where = { body: show.body, member: show.member, first: show.day, last: show.until };
    const chosen = { ...where, klass: klass.value, shown: day.value || null };
    const ruling = show.body && standing(pack?.enter, rules.windows, chosen)?.ruling;
    part(node, "ruling").hidden = !ruling;
    fill(node, { "hint-klass": ruling ? "" : governs });
    if (!ruling) return;
    fill(node, {
      "ruling-words": `${VERDICTS[ruling.verdict]}. ${ruling.why}`,
      "ruling-source": ruling.source,
    });
  };
  klass.addEventListener("change", tell);
  day.addEventListener("change", tell);
  tell();
}

const ENTRY = ["klass", "day", "ring", "time", "armband", "judge"];

function newEntry({ id, dog }) {
  return entryForm({ show: id, dog });
}

/** An entry that is there, or a dog's first one at a show, of which nothing is kept before it is saved. */
async function entryForm({ id = "", show: showId, dog: dogId }) {
  const [{ entry: declared }, rules, row] = await Promise.all([
    kinds(),
    rulesBook(),
    id ? store.get("entry", id) : null,
  ]);
  if (id && (!row || row.values.deleted)) return null;
  const was = row?.values ?? { dog: dogId, show: showId };
  const [file, found] = await Promise.all([dogFile(was.dog), store.get("show", was.show)]);
  if (!file || !found || found.values.deleted) return null;
  const { dog } = file;
  const node = fill(clone("entry-form"), {
    back: icon("back"),
    title: id ? `${dogName(dog)} at the show` : `Enter ${dogName(dog)}`,
    about: `${showName(found)}, ${aboutShow(found.values)}`,
  });
  part(node, "back").href = `#/show/${found.id}`;
  const form = part(node, "form");
  classOptions(form.elements.klass, found, was, file.pack, rules);
  form.elements.day.min = found.values.day ?? "";
  form.elements.day.max = endOf(found);
  // Only a show of several days leaves a choice of the day.
  const isLong = endOf(found) !== (found.values.day ?? "");
  part(node, "day-field").hidden = !isLong;
  showValues(form, was);
  followRuling(node, form, found, file.pack, rules);
  await onSave(node, form, ENTRY, declared.fields, {
    draft: `entry ${id || `${found.id} ${dog.id}`}`,
    extra: ({ day, time }) => reasons({ day: isLong && shownProblem(day, found.values), time: timeProblem(time) }),
    save: async (values) => {
      const wanted = id ? values : { ...worthWriting(values, {}), dog: dog.id, show: found.id };
      goInstead(`gate/${await store.write("entry", id || null, wanted)}`);
    },
  });
  if (id) part(node, "clock").href = `#/entry/${id}/clock`;
  else fill(node, { clock: null });
  const isHeld = (was.day ?? found.values.day) <= localDay();
  if (id && isHeld) part(node, "result").href = `#/entry/${id}/result`;
  else fill(node, { result: null });
  fill(node, { before: [await judgeBefore(was.judge, id)].filter((one) => one !== null) });
  if (!id) fill(node, { remove: null });
  on(node, "remove", async () => {
    await store.write("entry", id, { deleted: true });
    say("Entry removed. Bring it back in Settings, under Removed.");
    goInstead(`show/${found.id}`);
  });
  return { node, title: "Entry" };
}
