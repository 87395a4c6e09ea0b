// The pocket card of one dog: its exam card on one sheet, to print or to share, without a signal.
// templates/desk/card.html says the same lines from the book.

import { sayDay } from "../core/days.js";
import { held } from "../core/held.js";
import { rulesOf } from "../core/rules.js";
import { askedBy, headline } from "../core/walk.js";
import { localDay } from "../core/words.js";
import { cardOf, dogFile } from "../dogfile.js";
import { clone, fill, icon, part, text } from "../dom.js";
import { shortSource } from "../parts/lines.js";
import { dogName, listedName, orderName, showName } from "../parts/names.js";
import { nextShow } from "../parts/nextshow.js";
import { startSheet } from "../parts/pocketcard.js";
import { breedName, rulesBook } from "../shipped.js";

export const routes = { "dog/:id/print": print };

// What is left out where all is too much: first what the hands do in full, its headline stays; then
// what comes behind the first caution; at last one's own lines behind the first.
const RANKS = { do: 3, care: 2, own: 1 };

async function print({ id }) {
  const first = await dogFile(id);
  if (!first) return null;
  let file = first;
  let head = await headLines(file);
  const node = fill(clone("print"), { back: icon("back") });
  part(node, "back").href = `#/dog/${id}/card`;
  const [order, notes] = [part(node, "order"), part(node, "notes")];
  if (file.orders.length) order.append(...file.orders.map((row) => new Option(orderName(row), row.id)));
  else fill(node, { "order-field": null });
  if (!file.notes.length) fill(node, { "notes-field": null });

  function lines() {
    const card = cardOf(file, file.orders.find((row) => row.id === order.value)?.values.stations);
    return [...head, ...card.phases.flatMap((phase) => phaseLines(phase, notes.checked ? file.notes : []))];
  }
  part(node, "lines").replaceChildren(...lines());
  const sheet = startSheet(node, dogName(file.dog));
  const again = () => {
    part(node, "warning").hidden = !notes.checked;
    sheet.draw(lines());
  };
  order.addEventListener("change", again);
  notes.addEventListener("change", again);
  return {
    node,
    title: `${dogName(file.dog)}: pocket card`,
    async refresh() {
      file = (await dogFile(id)) ?? file;
      head = await headLines(file);
      again();
    },
    leave: () => sheet.stop(),
  };
}

const line = (words, kind, group, rank = 0, label = "") => {
  const made = text(kind === "phase" ? "h2" : "p", words, `pocket-${kind}`);
  if (label) made.prepend(text("b", label), " ");
  made.dataset.group = group;
  if (rank) made.dataset.rank = String(rank);
  return made;
};

/** The first panel: which dog, where it goes in, and where the text comes from. */
async function headLines(file) {
  const { dog, base } = file;
  const { values } = dog;
  const next = await nextShow(dog.id, localDay());
  const about = [await breedName(dog), values.variety, values.sex, values.born && `born ${sayDay(values.born)}`];
  const said = [
    [listedName(dog), "name"],
    [values.pedigree, "entry"],
    [about.filter(Boolean).join(", "), "entry"],
    ...(next ? showLines(next, await rulesBook()) : []),
    [
      base.standard
        ? `Asked: in our own words, from ${shortSource(base.standard)}. The source of each line is in the app.`
        : "The general card: no breed standard. The source of each line is in the app.",
      "small",
    ],
    ["If something looks wrong with a dog, see a vet. The judge, the show's rules and the law decide.", "small"],
  ];
  return said.filter(([words]) => words).map(([words, kind]) => line(words, kind, "head"));
}

function showLines({ day, entry, show }, { windows }) {
  const classes = held(windows.b, rulesOf(windows, show))?.c;
  const where = [
    entry.ring && `Ring ${entry.ring}`,
    entry.time,
    held(classes, entry.klass)?.n ?? entry.klass,
    entry.armband && `armband ${entry.armband}`,
  ];
  return [
    [`${showName({ values: show })}, ${sayDay(day)}`, "show"],
    [where.filter(Boolean).join(" · "), "entry"],
    [entry.judge && `Judge: ${entry.judge}`, "entry"],
  ];
}

function phaseLines(phase, notes) {
  return phase.stations.flatMap((station, place) => [
    ...(place === 0 ? [line(phase.name, "phase", station.id)] : []),
    ...stationLines(
      station,
      place + 1,
      notes.filter(({ values }) => values.station === station.id && values.text?.trim()),
    ),
  ]);
}

function stationLines(station, number, notes) {
  const leading = station.cues.find((cue) => !cue.own && !cue.home);
  const own = station.cues.filter((cue) => cue.own && cue.headline !== headline(station));
  const asks = station.asks.filter((ask) => ask.own);
  const name = text("h3", headline(station));
  name.prepend(text("b", `${number} ${station.name}:`), " ");
  name.dataset.group = station.id;
  const put = (label, words, kind, rank = 0) => line(words, kind, station.id, rank, label);
  return [
    name,
    ...own.map((cue, place) => put("Own:", cue.do, "own", place && RANKS.own)),
    ...(leading ? [put("", leading.do, "do", RANKS.do)] : []),
    ...(station.glance ? [put(askedBy(station), station.glance, "ask")] : []),
    ...asks.map((ask) => put("Yours:", ask.says, "ask", RANKS.own)),
    ...station.cautions.map((one, place) => put("Care:", one.text, "care", place && RANKS.care)),
    ...notes.map(({ values }) => put("Note:", values.text, "note")),
  ];
}
