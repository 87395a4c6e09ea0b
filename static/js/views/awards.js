// What the dog has won, and what that comes to: the tallies were made by ringside/domain/titles.

import { sayDay } from "../core/days.js";
import { few, localDay } from "../core/words.js";
import { dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say, text } from "../dom.js";
import { onSave, show, worthWriting } from "../forms.js";
import { linkRow } from "../parts/rows.js";
import { goInstead } from "../router.js";
import { kinds, rulesBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/awards": awards, "dog/:id/award/:award": awardForm };

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
// What the titles of a body are counted from, besides the day and the judge; the rest is not asked.
const ASKED = {
  FCI: ["country", "judge_country"],
  AKC: ["points", "competing", "champions"],
  KC: ["level", "competing"],
  CKC: ["points", "competing", "level"],
  DA: ["points", "competing", "level"],
};
const OPTIONAL = [...new Set(Object.values(ASKED).flat())];
const READ = { memory: " Written from memory.", secondary: " Read in a second-hand account." };

async function awards({ id }) {
  const [file, rules, oldest, held] = await Promise.all([
    dogFile(id),
    rulesBook(),
    store.about("award", id),
    store.about("title", id),
  ]);
  if (!file) return null;
  const won = oldest.reverse();
  const tallies = file.pack?.titles;
  const node = fill(clone("awards"), {
    back: icon("back"),
    words: wordsFor(file, won, tallies),
    titles: (tallies?.titles ?? []).map((title) => titleNode(title, tallies.sources, won, rules)),
    awards: won.map((row) => linkRow(`#/dog/${id}/award/${row.id}`, awardWords(row.values, rules))),
    add: [icon("add"), " Add an award"],
    held: held.map((row) => linkRow(`#/dog/${id}/title/${row.id}`, heldWords(row.values, rules))),
    "add-held": [icon("add"), " Add a title held"],
    caveats: Object.values(tallies?.caveats ?? {}).join(" "),
  });
  part(node, "back").href = `#/dog/${id}`;
  part(node, "add").href = `#/dog/${id}/award/new`;
  part(node, "add-held").href = `#/dog/${id}/title/new`;
  return { node, title: "Titles", live: true };
}

function wordsFor(file, won, tallies) {
  if (!won.length)
    return "No awards yet. Write down each win with its judge, and the book works out what is missing for a title.";
  if (!tallies) return "The book works out the titles; let this phone meet it once.";
  return file.isPackStale
    ? "An award was added here since; the tally follows when this phone next meets the book."
    : "";
}

const awardWords = (values, rules) => {
  const kind = rules.awards[values.body]?.[values.what] ?? values.what;
  return [values.day && sayDay(values.day), kind, values.judge, values.points && few(values.points, "point")]
    .filter(Boolean)
    .join(" · ");
};

const heldWords = ({ body, what, day }, rules) =>
  [rules.held?.[body]?.[what] ?? what, body, day && sayDay(day)].filter(Boolean).join(" · ");

function titleNode(title, sources, awards, rules) {
  const clauses = title.clauses.map(
    ([clause, source, read]) => `${clause}: ${sourceWords(sources[source])}.${READ[read] ?? ""}`,
  );
  const [[clause = "Source"] = []] = title.clauses;
  return fill(clone("title-row"), {
    icon: icon(title.earned ? "done" : "work"),
    name: `${title.name} (${title.body})`,
    words: title.earned ? `Earned on ${sayDay(title.earned)}.` : title.missing,
    soonest: title.soonest > localDay() ? `Soonest: ${sayDay(title.soonest)}.` : null,
    open: [otherwise(title.otherwise), ...(title.open ?? [])].filter(Boolean).join(" ") || null,
    have: title.earned ? [] : title.have.map(([what, have, need]) => text("li", `${what}: ${have} of ${need}`)),
    clause: `What counts; ${clause}`,
    counts: countsOf(title, awards, rules),
    "source-words": clauses.map((words) => text("span", `${words} `)),
    note:
      [title.route && `By way of ${title.route}.`, title.applies && `For ${title.applies}.`, title.note]
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
    ? `By another reading, earned on ${sayDay(other.earned)}.`
    : `By another reading: ${other.missing}${other.soonest > localDay() ? ` Soonest: ${sayDay(other.soonest)}.` : ""}`);

const COUNTRY = "Two letters, such as GB or CZ (ISO 3166-1).";
const isCountry = (words) => !words || /^[A-Za-z]{2}$/.test(words);

async function awardForm({ id, award }) {
  const isNew = award === "new";
  const [{ award: declared }, rules, dog, row] = await Promise.all([
    kinds(),
    rulesBook(),
    store.get("dog", id),
    isNew ? null : store.get("award", award),
  ]);
  if (!dog || (!isNew && !row)) return null;
  const node = fill(clone("award-form"), { back: icon("back"), title: isNew ? "New award" : "Edit award" });
  part(node, "back").href = `#/dog/${id}/awards`;
  const form = part(node, "form");
  const showKinds = () => {
    const body = form.elements.body.value;
    const classes = Object.entries(rules.windows.b[body.toLowerCase()]?.c ?? {});
    form.elements.what.replaceChildren(
      ...Object.entries(rules.awards[body] ?? {}).map(([kind, name]) => new Option(name, kind)),
    );
    form.elements.klass.replaceChildren(
      new Option("Not said", ""),
      ...classes.map(([klass, { n }]) => new Option(n, klass)),
    );
  };
  form.elements.body.value = row?.values.body ?? dog.values.body ?? "FCI";
  showKinds();
  const showAsked = () => {
    const asked = ASKED[form.elements.body.value] ?? OPTIONAL;
    // What is written down already stays in sight.
    for (const name of OPTIONAL)
      part(node, `field-${name}`).hidden = !asked.includes(name) && !form.elements[name].value;
  };
  form.elements.body.addEventListener("change", () => {
    showKinds();
    showAsked();
  });
  form.elements.day.max = localDay();
  show(form, row?.values ?? {});
  showAsked();
  onSave(node, form, NAMES, declared.fields, {
    missing: { day: "Enter the day of the award.", what: "Choose what was won." },
    extra: ({ day, country, judge_country: from }) => ({
      ...(day > localDay() ? { day: "That day is still to come." } : {}),
      ...(isCountry(country) ? {} : { country: COUNTRY }),
      ...(isCountry(from) ? {} : { judge_country: COUNTRY }),
    }),
    save: async (values) => {
      const upper = (words) => words?.toUpperCase() ?? null;
      const made = { ...values, country: upper(values.country), judge_country: upper(values.judge_country) };
      await store.write("award", row?.id ?? null, { dog: id, ...worthWriting(made, row?.values ?? {}) });
      goInstead(`dog/${id}/awards`);
    },
  });
  if (isNew) fill(node, { remove: null });
  on(node, "remove", async () => {
    await store.write("award", award, { deleted: true });
    say("Award removed. Settings, Removed brings it back.");
    goInstead(`dog/${id}/awards`);
  });
  return { node, title: "Award" };
}
