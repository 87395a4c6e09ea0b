// May this dog enter, on this day, under this body: looked up in the windows of its pack.

import { dogFile, rulesBook } from "../cards.js";
import { rulings } from "../core/rules.js";
import { localDay } from "../core/words.js";
import { clone, fill, icon, part, text } from "../dom.js";
import * as store from "../store.js";

const GROUPS = [
  { verdict: "may", name: "May enter", icon: "done", template: "enter-group" },
  { verdict: "may if", name: "May enter, if", icon: "work", template: "enter-group" },
  { verdict: "may not", name: "May not enter", icon: "notyet", template: "enter-more" },
];
const CAVEATS = { memory: " This was written from memory.", secondary: " This was read in a second-hand account." };

export async function enter({ id }) {
  const [file, rules, shows] = await Promise.all([dogFile(id), rulesBook(), store.byKind("show")]);
  if (!file) return null;
  const node = fill(clone("enter"), { back: icon("back") });
  part(node, "back").href = `#/dog/${id}`;
  const day = part(node, "day");
  const body = part(node, "body");
  const next = shows.map((show) => show.values).filter((show) => show.day >= localDay()).sort((one, other) => (one.day < other.day ? -1 : 1))[0];
  day.value = next?.day ?? localDay();
  body.value = next?.body ?? file.dog.values.body ?? "FCI";

  function draw() {
    const key = body.value.toLowerCase();
    const windows = file.pack?.enter;
    const found = windows && day.value ? rulings(windows, rules.windows, key, day.value) : [];
    fill(node, {
      words: wordsFor(file, windows, day.value, found),
      groups: GROUPS.map((group) => groupNode(group, found.filter((one) => one.verdict === group.verdict))).filter(Boolean),
      governs: rules.windows.b[key]?.g ?? "",
    });
  }
  day.addEventListener("input", draw);
  body.addEventListener("change", draw);
  draw();
  return { node, title: "May enter" };
}

function wordsFor(file, windows, day, found) {
  const name = file.dog.values.name ?? "The dog";
  if (!file.dog.values.born) return "Enter the day of whelping first: classes go by age.";
  if (!windows) return "The book works this out; let this phone meet it once after the dog was added or changed.";
  if (!day) return "Choose a day.";
  if (!found.length) return `${name} is not born yet on that day.`;
  const may = found.filter((one) => one.verdict === "may").length;
  return may ? "" : `No class is simply open to ${name} on that day.`;
}

function groupNode({ name, icon: mark, template }, found) {
  if (!found.length) return null;
  const title = template === "enter-more" ? `${name} (${found.length})` : name;
  return fill(clone(template), { name: title, list: found.map((one) => rulingNode(one, mark)) });
}

export function rulingNode(ruling, mark) {
  return fill(clone("enter-row"), {
    icon: icon(mark),
    name: ruling.name,
    until: ruling.until ? `until ${dayBefore(ruling.until)}` : "",
    why: ruling.why,
    readings: ruling.readings.map((words) => text("li", words)),
    clause: ruling.clause,
    edition: `${ruling.edition}.${CAVEATS[ruling.read] ?? ""} ${ruling.note}`,
  });
}

const dayBefore = (day) => new Date(Date.parse(`${day}T00:00:00Z`) - 86_400_000).toISOString().slice(0, 10);
