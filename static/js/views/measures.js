// Condition: what the dog weighs and scores, what it will weigh on the day of its next show, and how its
// measures stand to the limits of the standards.

import { dayProblem, measureProblems, reasons } from "../core/bounds.js";
import { sayDay } from "../core/days.js";
import { isWhole, limitSource, limitState, newest, tidy, UNITS } from "../core/limits.js";
import { sentence } from "../core/says.js";
import { localDay } from "../core/words.js";
import { dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say, text } from "../dom.js";
import { onSave } from "../forms.js";
import { rowsOf, sectionOf } from "../parts/guard.js";
import { lineNode } from "../parts/lines.js";
import { nextShow } from "../parts/nextshow.js";
import { onDayNode } from "../parts/onday.js";
import { careBook, kinds, rulesBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/measures": measures };

const NAMES = ["what", "value", "unit", "day"];
const SCORE_NAMES = ["score", "tuck_up", "note", "day"];
const MARKS = { wrong: "missed", off: "caution", unknown: "open", right: "done" };
const MOST = 200;
const FIRST = Object.keys(MARKS);

async function measures({ id }) {
  const [found, declared, rules, care, units] = await Promise.all([
    dogFile(id),
    kinds(),
    rulesBook(),
    careBook(),
    unitsInUse(),
  ]);
  if (!found) return null;
  const file = found;
  const today = localDay();
  const node = fill(clone("measures"), {
    back: icon("back"),
    points: care.scores.map(({ id: score, says }) => pointRow(score, says)),
    lines: care.lines
      .filter(({ about }) => about === "score" || about === "weight")
      .map((line) => lineNode(care, line, { words: line.says })),
  });
  part(node, "back").href = `#/dog/${id}`;
  part(node, "checks").href = `#/dog/${id}/checks`;
  const form = part(node, "form");
  const scoring = part(node, "score-form");
  for (const each of [form, scoring]) {
    each.elements.day.value = today;
    each.elements.day.max = today;
  }
  let known = [];
  for (const choice of form.elements.what) choice.addEventListener("change", showUnits);
  for (const choice of scoring.elements.score) choice.addEventListener("change", showPoint);
  on(node, "weigh", () => reach(form.elements.value));
  on(node, "rate", () => reach(scoring.elements.score[0]));
  // The unit used last for this dog, or for any dog, or the one its body writes in.
  function showUnits() {
    const what = form.elements.what.value;
    const last = newest(valuesOf(known), what) ?? units.get(what);
    const usual = UNITS[what][file.dog.values.body === "AKC" ? 1 : 0];
    form.elements.unit.replaceChildren(...UNITS[what].map((unit) => new Option(unit, unit)));
    form.elements.unit.value = last?.unit ?? usual;
  }

  function showPoint() {
    const point = care.scores.find((one) => one.id === scoring.elements.score.value);
    fill(node, { point: point?.says ?? "" });
  }

  async function draw(now) {
    const [measured, scores, states, next] = await Promise.all([
      store.newest("measure", id, MOST),
      store.newest("score", id, MOST),
      store.newest("state", id, MOST),
      nextShow(id, today),
    ]);
    known = measured;
    const values = valuesOf(known);
    const score = valuesOf(scores).find((one) => one.score && one.day);
    const state = valuesOf(states).find((one) => one.state && one.day);
    const limits = now.limits
      .map((limit) => ({ limit, ...limitState(limit, values) }))
      .sort((one, other) => FIRST.indexOf(one.state) - FIRST.indexOf(other.state));
    const again = async () => draw(await dogFile(id));
    const rows = [...known, ...scores].sort((one, other) => (dayOf(one) < dayOf(other) ? 1 : -1));
    fill(node, {
      now: nowNodes(values, score),
      "on-day": sectionOf(() =>
        onDayNode({
          says: care.says,
          weighings: values.filter(({ what }) => what === "weight").filter(isWhole),
          next,
          born: now.dog.values.born,
          state: state?.state,
          score: score && Number(score.score),
          limits: now.limits.filter(({ of }) => of === (next?.show.body ?? now.dog.values.body ?? "FCI")),
        }),
      ),
      limits: rowsOf(limits, (one) => limitRow(rules.says, one)),
      list: rowsOf(rows, (row) => keptRow(row, again)),
      none: rows.length ? "" : "Nothing written down yet.",
      "state-since": state ? `Since ${sayDay(state.day)}.` : "",
    });
    part(node, "limits-part").hidden = limits.length === 0;
    part(node, "state").value = state?.state ?? "";
  }
  await draw(file);
  showUnits();
  part(node, "state").addEventListener("change", async (event) => {
    const state = event.target.value;
    if (state) await store.write("state", null, { dog: id, state, day: today });
    await draw(await dogFile(id));
  });
  const { born } = file.dog.values;
  await onSave(part(node, "weigh-part"), form, NAMES, declared.measure.fields, {
    missing: { value: "Write what the scales or the measure say.", day: "Enter the day." },
    draft: `measure ${id}`,
    extra: (values) => measureProblems(rules.bounds, values, { born, today }),
    save: async (values) => {
      await store.write("measure", null, { dog: id, ...values });
      form.elements.value.value = "";
      say("Saved.");
      await draw(await dogFile(id));
    },
  });
  await onSave(part(node, "score-part"), scoring, SCORE_NAMES, declared.score.fields, {
    missing: { score: "Choose a number from 1 to 9.", day: "Enter the day." },
    draft: `score ${id}`,
    extra: ({ day }) => reasons({ day: dayProblem(rules.bounds, day, { born, today }) }),
    save: async (values) => {
      const given = Object.fromEntries(Object.entries(values).filter(([, value]) => value !== null));
      await store.write("score", null, { dog: id, ...given });
      scoring.reset();
      scoring.elements.day.value = today;
      showPoint();
      say("Saved.");
      await draw(await dogFile(id));
    },
  });
  showPoint();
  return { node, title: "Condition" };
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
const dayOf = ({ values }) => values.day ?? "";

function reach(field) {
  field.focus();
  field.scrollIntoView({ block: "center" });
}

/** What it weighed and measured last, and its last score. */
function nowNodes(values, score) {
  const size = (what) => {
    const last = newest(values, what);
    return last && { name: what, value: `${tidy(last.value)} ${last.unit}`, day: last.day };
  };
  const shown = [
    size("weight"),
    score && { name: "score", value: `${score.score} of 9`, day: score.day },
    size("height"),
  ];
  return shown.filter(Boolean).map(({ name, value, day }) => {
    const node = document.createElement("div");
    node.append(text("dt", name[0].toUpperCase() + name.slice(1)), text("dd", value), text("dd", sayDay(day), "muted"));
    return node;
  });
}

function pointRow(score, says) {
  const node = document.createElement("li");
  node.append(text("b", score), ` ${says}`);
  return node;
}

function limitRow(says, { limit, state, words, more }) {
  return fill(clone("gate-finding"), {
    icon: icon(MARKS[state]),
    words: sentence(says, words),
    remedy: sentence(says, more),
    act: null,
    "source-words": sentence(says, limitSource(limit)),
  });
}

function keptRow(row, redraw) {
  const { day } = row.values;
  const words = `${day ? sayDay(day) : "No day"}: ${row.kind === "score" ? scoreWords(row.values) : sizeWords(row.values)}`;
  const node = fill(clone("own-row"), { words });
  part(node, "remove").setAttribute("aria-label", `Remove ${words}`);
  return on(node, "remove", async () => {
    await store.write(row.kind, row.id, { deleted: true });
    say("Removed. Bring it back in Settings, under Removed.");
    await redraw();
  });
}

function sizeWords({ what, value, unit }) {
  return [what ?? "measure", value == null ? "without a number" : tidy(value), unit ?? "without a unit"].join(" ");
}

function scoreWords({ score, tuck_up: tuckUp, note }) {
  const tuck = tuckUp == null ? "" : `tuck-up ${tuckUp ? "seen" : "not seen"}`;
  return [score ? `score ${score} of 9` : "score without a number", tuck, note].filter(Boolean).join(", ");
}
