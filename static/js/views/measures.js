// Weight and height on a day, beside the limits of the standards.

import { measureProblems } from "../core/bounds.js";
import { sayDay } from "../core/days.js";
import { limitSource, isWhole, limitState, newest, tidy, UNITS } from "../core/limits.js";
import { sentence } from "../core/says.js";
import { localDay } from "../core/words.js";
import { dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { onSave } from "../forms.js";
import { rowsOf } from "../parts/guard.js";
import { kinds, rulesBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/measures": measures };

const NAMES = ["what", "value", "unit", "day"];
const MARKS = { wrong: "missed", off: "caution", unknown: "open", right: "done" };
const MOST = 200;
const FIRST = Object.keys(MARKS);

async function measures({ id }) {
  const [found, { measure: declared }, { says, bounds }, units] = await Promise.all([
    dogFile(id),
    kinds(),
    rulesBook(),
    unitsInUse(),
  ]);
  if (!found) return null;
  const file = found;
  const node = fill(clone("measures"), { back: icon("back") });
  part(node, "back").href = `#/dog/${id}`;
  const form = part(node, "form");
  form.elements.day.value = localDay();
  form.elements.day.max = localDay();
  let known = [];
  for (const choice of form.elements.what) choice.addEventListener("change", showUnits);
  // The unit used last for this dog, or for any dog, or the one its body writes in.
  function showUnits() {
    const what = form.elements.what.value;
    const last = newest(valuesOf(known), what) ?? units.get(what);
    const usual = UNITS[what][file.dog.values.body === "AKC" ? 1 : 0];
    form.elements.unit.replaceChildren(...UNITS[what].map((unit) => new Option(unit, unit)));
    form.elements.unit.value = last?.unit ?? usual;
  }

  async function draw(now) {
    known = await store.newest("measure", id, MOST);
    const limits = (now.pack?.limits ?? [])
      .map((limit) => ({ limit, ...limitState(limit, valuesOf(known)) }))
      .sort((one, other) => FIRST.indexOf(one.state) - FIRST.indexOf(other.state));
    fill(node, {
      limits: rowsOf(limits, (one) => limitRow(says, one)),
      list: rowsOf(known, (row) => measureRow(row, async () => draw(await dogFile(id)))),
      none: known.length ? "" : "Nothing written down yet.",
    });
    part(node, "limits-part").hidden = limits.length === 0;
  }
  await draw(file);
  showUnits();
  await onSave(node, form, NAMES, declared.fields, {
    missing: { value: "Write what the scales or the measure say.", day: "Enter the day." },
    draft: `measure ${id}`,
    extra: (values) => measureProblems(bounds, values, { born: file.dog.values.born, today: localDay() }),
    save: async (values) => {
      await store.write("measure", null, { dog: id, ...values });
      form.elements.value.value = "";
      say("Kept.");
      await draw(await dogFile(id));
    },
  });
  return { node, title: "Weight and height" };
}

/** The unit used last for any dog: Map {weight or height: {unit}}. */
async function unitsInUse() {
  const dogs = await store.all("dog");
  const found = (await Promise.all(dogs.map((dog) => store.newestBy("measure", dog.id, Object.keys(UNITS))))).flatMap(
    (rows) => [...rows.values()],
  );
  const inOrder = found.filter((row) => isWhole(row.values)).sort((one, other) => (one.id < other.id ? -1 : 1));
  return new Map(inOrder.map(({ values }) => [values.what, values]));
}

const valuesOf = (rows) => rows.map((row) => row.values);

function limitRow(says, { limit, state, words, more }) {
  return fill(clone("gate-finding"), {
    icon: icon(MARKS[state]),
    words: sentence(says, words),
    remedy: sentence(says, more),
    act: null,
    "source-words": sentence(says, limitSource(limit)),
  });
}

function measureRow(row, redraw) {
  const { what, value, unit, day } = row.values;
  const size = [what ?? "measure", value == null ? "without a number" : tidy(value), unit ?? "without a unit"];
  const words = `${day ? sayDay(day) : "No day"}: ${size.join(" ")}`;
  const node = fill(clone("own-row"), { words });
  part(node, "remove").setAttribute("aria-label", `Remove ${words}`);
  return on(node, "remove", async () => {
    await store.write("measure", row.id, { deleted: true });
    say("Removed. Settings, Removed brings it back.");
    await redraw();
  });
}
