// May this dog enter, on this day, under this body: looked up in the windows of its pack. Each class
// says from when until when, and one tap shows all its dates and its source.

import { nextEntryOf, showsComing } from "../coming.js";
import { sayDay } from "../core/days.js";
import { held } from "../core/held.js";
import { firstClass, READS, rulesOf, rulings, sourceOf, windows } from "../core/rules.js";
import { localDay } from "../core/words.js";
import { dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, text } from "../dom.js";
import { rowsOf, sectionOf } from "../parts/guard.js";
import { dogName } from "../parts/names.js";
import { explainTerms } from "../parts/terms.js";
import { homeBook, wordsAtHand } from "../shipped.js";

const GROUPS = [
  { verdict: "may", name: "May enter", icon: "done", template: "enter-group" },
  { verdict: "may if", name: "May enter on a condition", icon: "work", template: "enter-group" },
  { verdict: "may not", name: "May not enter", icon: "notyet", template: "enter-more" },
];
const MARKS = Object.fromEntries(GROUPS.map((group) => [group.verdict, group.icon]));
const DECIDES = {
  "first day": "At a show of several days, the first day decides.",
  "day shown": "At a show of several days, the day the dog is shown decides.",
  "day of show": "At a show of several days, the text does not say which day decides.",
  silent: "At a show of several days, the text does not say which day decides.",
  "closing date": "The age on the closing date decides.",
};

export const routes = { "dog/:id/enter": enter };

async function enter({ id }) {
  const [file, rules, terms, next] = await Promise.all([dogFile(id), homeBook(), wordsAtHand(), showAhead(id)]);
  if (!file) return null;
  const node = fill(clone("enter"), { back: icon("back") });
  part(node, "back").href = `#/dog/${id}`;
  const day = part(node, "day");
  const body = part(node, "body");
  const bodies = [...body.options];
  for (const [key, { n, of }] of Object.entries(rules.windows.b)) if (of) body.add(new Option(n, key.toUpperCase()));
  day.value = next?.day ?? localDay();
  const ofShow = next?.body && rulesOf(rules.windows, next).toUpperCase();
  body.value = ofShow || (file.dog.values.body ?? "FCI");

  const bodyOf = (key) => held(rules.windows.b, key)?.of ?? key;
  const draw = () => {
    const key = body.value.toLowerCase();
    const all = file.pack?.enter;
    const found = all && day.value ? rulings(all, rules.windows, key, day.value) : [];
    fill(node, {
      words: wordsFor(file, all, day.value, found),
      groups: GROUPS.map((group) => ({ group, own: found.filter((one) => one.verdict === group.verdict) }))
        .filter(({ own }) => own.length)
        .flatMap(({ group, own }) => sectionOf(() => groupNode(group, own, all, rules.windows, key))),
      bodies: all ? bodyRows(all, rules.windows) : [],
      habits: habitsNode(rules, bodyOf(key)),
      governs: held(rules.windows.b, bodyOf(key))?.g ?? "",
    });
    part(node, "bodies-part").hidden = !all;
    explainTerms(node, terms, ["why", "says"]);
  };

  // The first class of each body, and when: a tap shows that body on that day.
  function bodyRows(all, known) {
    return rowsOf(bodies, ({ value, text: name }) => {
      const first = firstClass(all, known, value.toLowerCase());
      const row = fill(clone("body-row"), {
        name,
        words: first
          ? `from ${sayDay(first.from)}: ${first.name}${first.verdict === "may if" ? ", if" : ""}`
          : "no class on record",
        icon: icon("onward"),
      });
      return on(row, "pick", () => {
        body.value = value;
        if (first && first.from > day.value) day.value = first.from;
        draw();
        part(node, "words").focus();
        scrollTo(0, 0);
      });
    });
  }

  day.addEventListener("input", draw);
  body.addEventListener("change", draw);
  draw();
  return { node, title: "Classes" };
}

/** The next show that this dog is entered in, with its day there, or else the next show (values). */
async function showAhead(dog) {
  const today = localDay();
  const next = await nextEntryOf(dog, today);
  if (!next) return (await showsComing(today))[0]?.values;
  const { entry, show } = next;
  return { ...show.values, day: entry.values.day ?? show.values.day };
}

function wordsFor(file, all, day, found) {
  const name = dogName(file.dog);
  if (!file.dog.values.born) return "Enter the date of birth first: classes go by age.";
  if (!all) return "The book works this out. Sync this phone to see it.";
  if (!day) return "Choose a day.";
  if (!found.length) return `${name} is not born yet on that day.`;
  const stale = file.isPackStale ? "Out of date: sync this phone first. " : "";
  const may = found.filter((one) => one.verdict === "may").length;
  return `${stale}${may ? "" : `No class is open to ${name} on that day without a condition.`}`.trim();
}

function groupNode({ name, template }, found, all, rules, body) {
  const title = template === "enter-more" ? `${name} (${found.length})` : name;
  return fill(clone(template), {
    name: title,
    list: rowsOf(found, (one) => rulingNode(rules, one, windows(all, rules, body, one.klass))),
  });
}

/** How the shows of a body are run; nothing where nothing was read. */
function habitsNode(rules, body) {
  const known = held(rules.habits, body);
  if (!known?.y.length) return [];
  const list = rowsOf(known.y, ([says, clause, place, read]) =>
    fill(clone("habit-row"), {
      says,
      source: sourceOf(rules.windows, { clause, edition: known.e[place], read: READS[read] }).name,
    }),
  );
  return [fill(clone("enter-more"), { name: `How its shows are run (${known.y.length})`, list })];
}

function rulingNode(rules, ruling, dates) {
  const { name, words } = sourceOf(rules, ruling);
  return fill(clone("enter-row"), {
    icon: icon(MARKS[ruling.verdict]),
    name: ruling.name,
    span: spanWords(ruling) || null,
    why: ruling.why,
    readings: ruling.readings.map((one) => text("li", one)),
    clause: name,
    dates: dates.map(dateRow),
    edition: words,
    decides: DECIDES[ruling.decides] ?? "",
  });
}

/** "from 5 June 2026 until 4 March 2027", as far as either end is known. */
function spanWords({ verdict, from, to, opens }) {
  if (verdict === "may not") return opens ? `opens ${sayDay(opens)}` : "";
  return [from && `from ${sayDay(from)}`, to && `until ${sayDay(to)}`].filter(Boolean).join(" ");
}

function dateRow({ verdict, from, to, why, clause }, place) {
  const days =
    [place > 0 && `from ${sayDay(from)}`, to && `until ${sayDay(to)}`].filter(Boolean).join(" ") || "at any age";
  return fill(clone("date-row"), {
    icon: icon(MARKS[verdict]),
    days: `${days}: ${verdict}`,
    why: `${why} (${clause})`,
  });
}
