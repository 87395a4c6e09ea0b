// What the dog has won, and what that comes to: the tallies were made by ringside/domain/titles.

import { awardProblems } from "../core/bounds.js";
import { sayDay } from "../core/days.js";
import { held } from "../core/held.js";
import { few, localDay } from "../core/words.js";
import { dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say, text } from "../dom.js";
import { keepUnknown, onSave, show, worthWriting } from "../forms.js";
import { rowsOf } from "../parts/guard.js";
import { linkRow } from "../parts/rows.js";
import { goInstead } from "../router.js";
import { kinds, homeBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/awards": awards, "dog/:id/award/:award": awardForm, "entry/:id/award": entryAward };

const NAMES = [
  "body",
  "what",
  "day",
  "judge",
  "klass",
  "breed_only",
  "points",
  "competing",
  "champions",
  "country",
  "judge_country",
  "level",
  "show",
];
const READ = { memory: " Written from memory.", secondary: " Read in a second-hand account." };

async function awards({ id }) {
  const [file, rules, oldest, titles] = await Promise.all([
    dogFile(id),
    homeBook(),
    store.about("award", id),
    store.about("title", id),
  ]);
  if (!file) return null;
  const won = oldest.reverse();
  const open = await openResults(id, won);
  const tallies = file.pack?.titles;
  const node = fill(clone("awards"), {
    back: icon("back"),
    words: wordsFor(file, won, tallies),
    titles: rowsOf(tallies?.titles ?? [], (title) => titleNode(title, tallies.sources, won, rules)),
    awards: rowsOf(won, (row) => linkRow(`#/dog/${id}/award/${row.id}`, awardWords(row.values, rules))),
    open: open.map(({ entry, name, day }) => linkRow(`#/entry/${entry}/award`, `${name}, ${sayDay(day)}`)),
    add: [icon("add"), " Add an award"],
    held: titles.map((row) => linkRow(`#/dog/${id}/title/${row.id}`, heldWords(row.values, rules))),
    "add-held": [icon("add"), " Add a title held"],
    caveats: Object.values(tallies?.caveats ?? {}).join(" "),
  });
  part(node, "back").href = `#/dog/${id}`;
  part(node, "add").href = `#/dog/${id}/award/new`;
  part(node, "add-held").href = `#/dog/${id}/title/new`;
  part(node, "open-part").hidden = open.length === 0;
  return { node, title: "Titles", live: true };
}

const RECENT = 10;

/** The last shows this dog was entered in of which no award is written down: [{entry, name, day}]. */
async function openResults(id, won) {
  const entries = await store.newest("entry", id, RECENT);
  const shows = await Promise.all(entries.map(({ values }) => store.get("show", values.show ?? "")));
  return entries
    .map((entry, place) => ({ entry: entry.id, shown: entry.values.day, ...shows[place]?.values }))
    .map(({ shown, ...show }) => ({ ...show, day: shown ?? show.day }))
    .filter(({ day, name, deleted }) => day && day <= localDay() && name && !deleted)
    .filter(({ day, name }) => !won.some(({ values }) => values.day === day && values.show === name));
}

function wordsFor(file, won, tallies) {
  if (!won.length)
    return "No awards yet. Add each win with its judge, and the book works out what a title still needs.";
  if (!tallies) return "The book works out titles. Sync once to see them.";
  return file.isPackStale ? "The dog's record has changed. Sync to update what is still missing." : "";
}

const awardWords = (values, rules) => {
  const kind = held(held(rules.awards, values.body), values.what) ?? values.what;
  return [
    values.day ? sayDay(values.day) : "No day yet",
    kind,
    values.judge,
    values.points && few(values.points, "point"),
  ]
    .filter(Boolean)
    .join(" · ");
};

const heldWords = ({ body, what, day }, rules) =>
  [held(held(rules.held, body), what) ?? what, body, day && sayDay(day)].filter(Boolean).join(" · ");

function titleNode(title, sources, awards, rules) {
  const clauses = title.clauses.map(
    ([clause, source, read]) => `${clause}: ${sourceWords(held(sources, source))}.${READ[read] ?? ""}`,
  );
  const [[clause = "Source"] = []] = title.clauses;
  return fill(clone("title-row"), {
    icon: icon(title.earned ? "done" : "work"),
    name: `${title.name} (${title.body})`,
    words: title.earned ? `Earned on ${sayDay(title.earned)}.` : title.missing,
    soonest: title.soonest > localDay() ? `Earliest: ${sayDay(title.soonest)}.` : null,
    open: [otherwise(title.otherwise), ...(title.open ?? [])].filter(Boolean).join(" ") || null,
    have: title.earned ? [] : title.have.map(([what, have, need]) => text("li", `${what}: ${have} of ${need}`)),
    clause: `What counts: ${clause}`,
    counts: title.have.length ? countsOf(title, awards, rules) : [], // nothing to count: other titles, or not read
    "source-words": clauses.map((words) => text("span", `${words} `)),
    note:
      [title.route && `Counted through ${title.route}.`, title.applies && `For ${title.applies}.`, title.note]
        .filter(Boolean)
        .join(" ") || null,
  });
}

/** The awards that make up a title, or have been gathered for it, and why others do not count. */
function countsOf(title, awards, rules) {
  const named = ([count, ids]) => {
    const lines = ids
      .map((id) => awards.find((row) => row.id === id))
      .filter(Boolean)
      .map((row) => awardWords(row.values, rules));
    return [...lines, ...(count > ids.length ? [`and ${count - ids.length} more`] : [])].join("; ");
  };
  const [count] = title.counts;
  const lines = [
    count ? `${few(count, "award counts", "awards count")}: ${named(title.counts)}.` : "No award counts for it yet.",
  ];
  for (const [reason, ...aside] of title.aside ?? [])
    lines.push(`${few(aside[0], "award does", "awards do")} not count (${reason}): ${named(aside)}.`);
  return lines.map((line) => text("li", line));
}

const sourceWords = (from) =>
  from ? [`${from.body}, ${from.title}`, from.number, from.date].filter(Boolean).join(", ") : "source not named";

const otherwise = (other) =>
  other &&
  (other.earned
    ? `Read another way: earned on ${sayDay(other.earned)}.`
    : `Read another way: ${other.missing}${other.soonest > localDay() ? ` Earliest: ${sayDay(other.soonest)}.` : ""}`);

/** An award of an entry: what the show and the entry say of it is filled in. */
async function entryAward({ id }) {
  const entry = await store.get("entry", id);
  const found = entry && (await store.get("show", entry.values.show ?? ""));
  if (!found || entry.values.deleted) return null;
  const { body, level, day, name } = found.values;
  const { klass, judge, day: shown } = entry.values;
  return awardForm({
    id: entry.values.dog,
    award: "new",
    from: { entry: id, values: { body, level, klass, judge, day: shown ?? day, show: name } },
  });
}

/** @param {any} _ */
async function awardForm({ id, award, from = { entry: "", values: {} } }) {
  const isNew = award === "new";
  const [{ award: declared }, rules, dog, row, won] = await Promise.all([
    kinds(),
    homeBook(),
    store.get("dog", id),
    isNew ? null : store.get("award", award),
    store.about("award", id),
  ]);
  if (!dog || dog.values.deleted || (!isNew && (!row || row.values.deleted))) return null;
  const was = row?.values ?? from.values;
  const node = fill(clone("award-form"), { back: icon("back"), title: isNew ? "New award" : "Edit award" });
  part(node, "back").href = from.entry ? `#/entry/${from.entry}` : `#/dog/${id}/awards`;
  const form = part(node, "form");
  const showKinds = () => {
    const body = form.elements.body.value;
    const classes = Object.entries(held(rules.windows.b, body.toLowerCase())?.c ?? {});
    form.elements.what.replaceChildren(
      ...Object.entries(held(rules.awards, body) ?? {}).map(([kind, name]) => new Option(name, kind)),
    );
    form.elements.klass.replaceChildren(
      new Option("Not said", ""),
      ...classes.map(([klass, { n }]) => new Option(n, klass)),
    );
  };
  form.elements.body.value = was.body ?? dog.values.body ?? "FCI";
  showKinds();
  const optional = [...new Set(Object.values(rules.asked).flat())];
  const showAsked = () => {
    const asked = held(rules.asked, form.elements.body.value) ?? optional;
    // What is written down already stays in sight.
    for (const name of optional)
      part(node, `field-${name}`).hidden = !asked.includes(name) && !form.elements[name].value;
  };
  form.elements.body.addEventListener("change", () => {
    showKinds();
    showAsked();
  });
  form.elements.day.max = localDay();
  show(form, was);
  keepUnknown(form.elements.what, was.what);
  keepUnknown(form.elements.klass, was.klass);
  showAsked();
  await onSave(node, form, NAMES, declared.fields, {
    missing: { day: "Enter the day of the award.", what: "Choose what was won." },
    draft: `award ${from.entry || (isNew ? id : award)}`,
    extra: (values) =>
      awardProblems(rules.bounds, values, {
        born: dog.values.born,
        today: localDay(),
        others: won.filter((other) => other.id !== award).map((other) => other.values),
      }),
    save: async (values) => {
      const upper = (words) => words?.toUpperCase() ?? null;
      const made = { ...values, country: upper(values.country), judge_country: upper(values.judge_country) };
      const entry = from.entry ? { entry: from.entry } : {};
      await store.write("award", row?.id ?? null, { dog: id, ...entry, ...worthWriting(made, row?.values ?? {}) });
      goInstead(`dog/${id}/awards`);
    },
  });
  if (isNew) fill(node, { remove: null });
  on(node, "remove", async () => {
    await store.write("award", award, { deleted: true });
    say("Award removed. Bring it back in Settings, under Removed.");
    goInstead(`dog/${id}/awards`);
  });
  return { node, title: "Award" };
}
