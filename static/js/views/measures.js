// Weight and height on a day, beside the limits of the standards.

import { beyond, inUnit, sayDay } from "../core/rules.js";
import { localDay } from "../core/words.js";
import { dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { onSave } from "../forms.js";
import { knowledge } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/measures": measures };

const UNITS = { weight: ["kg", "lb"], height: ["cm", "in"] };
const NAMES = ["what", "value", "unit", "day"];
const MARKS = { wrong: "missed", off: "caution", unknown: "open", right: "done" };
const FIRST = Object.keys(MARKS);

async function measures({ id }) {
  const [found, { fields }, all] = await Promise.all([dogFile(id), knowledge(), store.byKind("measure")]);
  if (!found) return null;
  const file = found;
  const node = fill(clone("measures"), { back: icon("back") });
  part(node, "back").href = `#/dog/${id}`;
  const form = part(node, "form");
  form.elements.day.value = localDay();
  form.elements.day.max = localDay();
  let known = file.measures;
  for (const choice of form.elements.what) choice.addEventListener("change", showUnits);
  showUnits();
  onSave(node, form, NAMES, fields.measure, {
    missing: { value: "Write what the scales or the measure say.", day: "Enter the day." },
    extra: ({ day, value, what }) => ({
      ...(day > localDay() ? { day: "That day is still to come." } : {}),
      ...(value === 0 ? { value: `No dog has a ${what} of 0.` } : {}),
    }),
    save: async (values) => {
      await store.write("measure", null, { dog: id, ...values });
      form.elements.value.value = "";
      say("Kept.");
      draw(await dogFile(id));
    },
  });

  // The unit used last for this dog, or for any dog, or the one its body writes in.
  function showUnits() {
    const what = form.elements.what.value;
    const last =
      newest(known, what) ??
      newest(
        [...all].sort((one, other) => (one.id < other.id ? 1 : -1)),
        what,
      );
    const usual = UNITS[what][file.dog.values.body === "AKC" ? 1 : 0];
    form.elements.unit.replaceChildren(...UNITS[what].map((unit) => new Option(unit, unit)));
    form.elements.unit.value = last?.unit ?? usual;
  }

  function draw(now) {
    known = now.measures;
    const limits = (now.pack?.limits ?? [])
      .map((limit) => ({ limit, ...limitState(limit, now.measures) }))
      .sort((one, other) => FIRST.indexOf(one.state) - FIRST.indexOf(other.state));
    fill(node, {
      limits: limits.map(limitRow),
      list: now.measures.map((row) => measureRow(row, async () => draw(await dogFile(id)))),
      none: now.measures.length ? "" : "Nothing written down yet.",
    });
    part(node, "limits-part").hidden = limits.length === 0;
  }
  draw(file);
  return { node, title: "Weight and height" };
}

const CAVEATS = {
  memory: " Written from memory of that text.",
  secondary: " Read in a second-hand account of that text.",
};

/** Where a limit comes from, in words. */
export const limitSource = ({ source, read }) => `${source}.${CAVEATS[read] ?? ""} In our own words.`;

/** The newest measure of one kind, or null; `rows` are newest first. */
export const newest = (rows, what) => rows.find((row) => row.values.what === what)?.values ?? null;

/** How a limit stands: {state, words, more}; "wrong" is beyond a limit that disqualifies, "off" beyond
    another, else "right" or "unknown". */
export function limitState(limit, rows) {
  const { what, of, says } = limit;
  const isBar = limit.weight === "disqualifying";
  const effect = isBar ? ` Disqualifies under ${of}${limit.only ? " only" : ""}.` : "";
  const last = newest(rows, what);
  if (!last)
    return {
      state: "unknown",
      words: `Not ${what === "weight" ? "weighed" : "measured"} yet`,
      more: `${of}: ${says}${effect}`,
    };
  const off = beyond(limit, inUnit(last.value, last.unit, limit.unit));
  const more = `${tidy(last.value)} ${last.unit} on ${sayDay(last.day)}. ${of}: ${says}${effect}`;
  if (off === 0)
    return { state: "right", words: `${what === "weight" ? "Weight" : "Height"} within ${of}'s limits`, more };
  const by = `${tidy(inUnit(Math.abs(off), limit.unit, last.unit))} ${last.unit}`;
  if (isBar) return { state: "wrong", words: `${by} too ${side(what, off)} for ${of}`, more };
  return {
    state: "off",
    words: `${by} ${off > 0 ? "over" : "under"} ${of}'s figure`,
    more: `${more} It does not disqualify by itself.`,
  };
}

const side = (what, off) => (what === "weight" ? (off > 0 ? "heavy" : "light") : off > 0 ? "tall" : "low");

/** A number to one place, or to two where one place would make it nothing. */
function tidy(number) {
  const places = number < 0.05 ? 100 : 10;
  return String(Math.max(Math.round(number * places) / places, 0.01));
}

function limitRow({ limit, state, words, more }) {
  return fill(clone("gate-finding"), {
    icon: icon(MARKS[state]),
    words,
    remedy: more,
    act: null,
    "source-words": limitSource(limit),
  });
}

function measureRow(row, redraw) {
  const { what, value, unit, day } = row.values;
  const words = `${sayDay(day)}: ${what} ${tidy(value)} ${unit}`;
  const node = fill(clone("own-row"), { words });
  part(node, "remove").setAttribute("aria-label", `Remove ${words}`);
  return on(node, "remove", async () => {
    await store.write("measure", row.id, { deleted: true });
    say("Removed. Settings, Removed brings it back.");
    await redraw();
  });
}
