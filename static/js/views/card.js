// The whole exam card at a glance: every station in order, with its headline.

import { headline } from "../core/walk.js";
import { few } from "../core/words.js";
import { cardOf, dogFile, elsewhere, readiness } from "../dogfile.js";
import { clone, fill, icon, part, text } from "../dom.js";
import { rowsOf } from "../parts/guard.js";
import { shortSource } from "../parts/lines.js";
import { dogName, orderName } from "../parts/names.js";
import { putPortrait } from "../parts/portrait.js";
import { GRADES } from "../parts/rows.js";

export const routes = { "dog/:id/card": card };

const chosen = new Map();

async function card({ id }) {
  const file = await dogFile(id);
  if (!file) return null;
  const order = file.orders.find((row) => row.id === chosen.get(id));
  const made = cardOf(file, order?.values.stations);
  const grades = await readiness(file);
  const noted = new Set(file.notes.map((note) => note.values.station));
  const { length: left } = elsewhere(file);
  const node = fill(clone("card"), {
    elsewhere: left ? [text("span", `${few(left, "line")} for other stations`), icon("onward")] : null,
    back: icon("back"),
    standard: made.standard
      ? `What the breed is asked, in our own words, from ${shortSource(made.standard)}.`
      : "The general card: no breed standard.",
    phases: rowsOf(made.phases, (phase) => phaseNode(id, phase, grades, noted)),
  });
  fill(node, coverageParts(made.coverage));
  part(node, "back").href = `#/dog/${id}`;
  if (left) part(node, "elsewhere").href = `#/dog/${id}/elsewhere`;
  const { portrait } = file.dog.values;
  if (portrait) putPortrait(part(node, "portrait"), portrait).catch(console.warn);
  part(node, "print").href = `#/dog/${id}/print`;
  if (file.orders.length) orderPicker(node, id, file.orders);
  else fill(node, { "order-field": null });
  return { node, title: `${dogName(file.dog)}: exam card`, live: true };
}

/** How much of the chosen body's text was read, and on a tap the points that it was not. */
const coverageParts = (coverage) =>
  coverage
    ? {
        "coverage-says": coverage.says,
        "coverage-unread": `Not read in its text: ${coverage.unread.join(", ")}.`,
      }
    : { coverage: null };

function orderPicker(node, id, orders) {
  const picker = part(node, "order");
  picker.replaceChildren(new Option("Usual order", ""), ...orders.map((row) => new Option(orderName(row), row.id)));
  picker.value = chosen.get(id) ?? "";
  picker.addEventListener("change", async () => {
    chosen.set(id, picker.value);
    const view = await card({ id });
    if (!view) return;
    node.replaceWith(view.node);
    part(view.node, "order").focus();
  });
}

function phaseNode(id, phase, grades, noted) {
  return fill(clone("card-phase"), {
    name: phase.name,
    says: phase.says,
    stations: rowsOf(phase.stations, (station, place) =>
      stationNode(id, station, place + 1, grades.get(station.id), noted.has(station.id)),
    ),
  });
}

function stationNode(id, station, number, grade, hasNote) {
  const node = fill(clone("card-station"), {
    number: String(number),
    name: station.name,
    headline: headline(station),
    caution: station.cautions.length ? named("caution", "caution") : null,
    note: hasNote ? named("veil", "private note") : null,
    grade: grade ? named(GRADES[grade.grade].icon, GRADES[grade.grade].words) : null,
  });
  part(node, "link").href = `#/dog/${id}/station/${station.id}`;
  return node;
}

function named(name, words) {
  const drawing = icon(name);
  drawing.removeAttribute("aria-hidden");
  drawing.setAttribute("role", "img");
  drawing.setAttribute("aria-label", words);
  return drawing;
}
