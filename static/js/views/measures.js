// Weight and height on a day, beside the limits of the standards.

import { dogFile, knowledge } from "../cards.js";
import { beyond, inUnit } from "../core/rules.js";
import { localDay } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { onSave } from "../forms.js";
import * as store from "../store.js";

const UNITS = { weight: ["kg", "lb"], height: ["cm", "in"] };
const NAMES = ["what", "value", "unit", "day"];

export async function measures({ id }) {
  const [file, { fields }] = await Promise.all([dogFile(id), knowledge()]);
  if (!file) return null;
  const node = fill(clone("measures"), { back: icon("back") });
  part(node, "back").href = `#/dog/${id}`;
  const form = part(node, "form");
  form.elements.day.value = localDay();
  form.elements.day.max = localDay();
  const showUnits = () => form.elements.unit.replaceChildren(...UNITS[form.elements.what.value].map((unit) => new Option(unit, unit)));
  for (const choice of form.elements.what) choice.addEventListener("change", showUnits);
  showUnits();
  onSave(node, form, NAMES, fields.measure, {
    missing: { value: "Write what the scales or the measure say.", day: "Enter the day." },
    extra: ({ day }) => (day > localDay() ? { day: "That day is still to come." } : {}),
    save: async (values) => {
      await store.write("measure", null, { dog: id, ...values });
      form.elements.value.value = "";
      say("Kept.");
      draw(await dogFile(id));
    },
  });

  function draw(now) {
    fill(node, {
      limits: (now.pack?.limits ?? []).map((limit) => limitRow(limit, now.measures)),
      list: now.measures.map((row) => measureRow(row, async () => draw(await dogFile(id)))),
    });
    part(node, "limits-part").hidden = !now.pack?.limits?.length;
  }
  draw(file);
  return { node, title: "Weight and height" };
}

/** The newest measure of one kind, or null; `rows` are newest first. */
export const newest = (rows, what) => rows.find((row) => row.values.what === what)?.values ?? null;

/** How a limit stands: {state: "wrong" | "right" | "unknown", words, more}. */
export function limitState(limit, rows) {
  const last = newest(rows, limit.what);
  const effect = limit.weight === "disqualifying" ? ` Disqualifies under ${limit.of}${limit.only ? " only" : ""}.` : "";
  if (!last) return { state: "unknown", words: limit.what === "weight" ? "Not weighed yet" : "Not measured yet", more: `${limit.of}: ${limit.says}${effect}` };
  const off = beyond(limit, inUnit(last.value, last.unit, limit.unit));
  const more = `${tidy(last.value)} ${last.unit} on ${last.day}. ${limit.of}: ${limit.says}`;
  if (off === 0) return { state: "right", words: `${limit.what === "weight" ? "Weight" : "Height"} within ${limit.of}'s`, more };
  const by = inUnit(Math.abs(off), limit.unit, last.unit);
  return { state: "wrong", words: `${tidy(by)} ${last.unit} too ${side(limit.what, off)} for ${limit.of}`, more: `${more}${effect}` };
}

const side = (what, off) => (what === "weight" ? (off > 0 ? "heavy" : "light") : off > 0 ? "tall" : "low");
const tidy = (number) => String(Math.round(number * 10) / 10);

const MARKS = { right: "done", wrong: "missed", unknown: "open" };

function limitRow(limit, rows) {
  const { state, words, more } = limitState(limit, rows);
  return fill(clone("gate-finding"), {
    icon: icon(MARKS[state]),
    words,
    remedy: more,
    "source-words": limit.source,
  });
}

function measureRow(row, redraw) {
  const { what, value, unit, day } = row.values;
  const node = fill(clone("own-row"), { words: `${day}: ${what} ${tidy(value)} ${unit}` });
  return on(node, "remove", async () => {
    await store.write("measure", row.id, { deleted: true });
    say("Removed. Settings, Removed brings it back.");
    await redraw();
  });
}
