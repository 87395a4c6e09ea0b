// What the dog has won, and what that comes to: the tallies were made by ringside/domain/titles.py.

import { dogFile, knowledge, rulesBook } from "../cards.js";
import { localDay } from "../core/words.js";
import { clone, fill, icon, on, part, say, text } from "../dom.js";
import { onSave, show } from "../forms.js";
import { goInstead } from "../router.js";
import * as store from "../store.js";
import { linkRow } from "./dog.js";

const NAMES = ["body", "what", "day", "judge", "points", "competing", "champions", "country", "level", "show"];

export async function awards({ id }) {
  const [file, rules] = await Promise.all([dogFile(id), rulesBook()]);
  if (!file) return null;
  const tallies = file.pack?.titles;
  const node = fill(clone("awards"), {
    back: icon("back"),
    words: wordsFor(file, tallies),
    titles: (tallies?.titles ?? []).map((title) => titleNode(title, tallies.sources)),
    awards: file.awards.map((row) => linkRow(`#/dog/${id}/award/${row.id}`, awardWords(row.values, rules))),
    add: [icon("add"), " Add an award"],
    caveats: Object.values(tallies?.caveats ?? {}).join(" "),
  });
  part(node, "back").href = `#/dog/${id}`;
  part(node, "add").href = `#/dog/${id}/award/new`;
  return { node, title: "Titles", live: true };
}

function wordsFor(file, tallies) {
  if (!file.awards.length) return "No awards yet. Write down each win with its judge, and the book works out what is missing for a title.";
  if (!tallies) return "The book works out the titles; let this phone meet it once.";
  return file.isPackStale ? "An award was added here since; the tally follows when this phone next meets the book." : "";
}

const awardWords = (values, rules) => {
  const kind = rules.awards[values.body]?.[values.what] ?? values.what;
  return [values.day, kind, values.judge, values.points && `${values.points} points`].filter(Boolean).join(" · ");
};

function titleNode(title, sources) {
  const [[clause, source, read] = ["", "", ""]] = title.clauses;
  const from = sources[source];
  const node = fill(clone("title-row"), {
    icon: icon(title.earned ? "done" : "work"),
    name: `${title.name} (${title.body})`,
    words: title.earned ? `Earned on ${title.earned}.` : title.missing,
    open: [otherwise(title.otherwise), ...(title.open ?? [])].filter(Boolean).join(" ") || null,
    have: title.earned ? [] : title.have.map(([what, have, need]) => text("li", `${what}: ${have} of ${need}`)),
    clause: clause || "Source",
    "source-words": from ? `${from.body}: ${from.title}${from.number ? `, ${from.number}` : ""}${from.date ? `, ${from.date}` : ""}.${read === "memory" ? " Written from memory." : read === "secondary" ? " Read in a second-hand account." : ""}` : "",
  });
  return node;
}

const otherwise = (other) => other && (other.earned ? `By another reading, earned on ${other.earned}.` : `By another reading: ${other.missing}`);

export async function awardForm({ id, award }) {
  const isNew = award === "new";
  const [{ fields }, rules, dog, row] = await Promise.all([knowledge(), rulesBook(), store.get(id), isNew ? null : store.get(award)]);
  if (!dog || (!isNew && !row)) return null;
  const node = fill(clone("award-form"), { back: icon("back"), title: isNew ? "New award" : "Edit award" });
  part(node, "back").href = `#/dog/${id}/awards`;
  const form = part(node, "form");
  const showKinds = () =>
    form.elements.what.replaceChildren(...Object.entries(rules.awards[form.elements.body.value] ?? {}).map(([kind, name]) => new Option(name, kind)));
  form.elements.body.value = row?.values.body ?? dog.values.body ?? "FCI";
  showKinds();
  form.elements.body.addEventListener("change", showKinds);
  form.elements.day.max = localDay();
  show(form, row?.values ?? {});
  onSave(node, form, NAMES, fields.award, {
    missing: { day: "Enter the day of the award.", what: "Choose what was won." },
    extra: ({ day, country }) => ({
      ...(day > localDay() ? { day: "That day is still to come." } : {}),
      ...(country && !/^[A-Za-z]{2}$/.test(country) ? { country: "Two letters, such as GB or CZ (ISO 3166-1)." } : {}),
    }),
    save: async (values) => {
      const country = values.country?.toUpperCase() ?? null;
      await store.write("award", row?.id ?? null, { dog: id, ...values, country });
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
