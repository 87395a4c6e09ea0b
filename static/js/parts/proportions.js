// The proportions of a dog, by view, from the photos that were marked: hidden until they are tapped, as private
// notes are, and hidden again when nobody looks.

import { sayDay } from "../core/days.js";
import { held } from "../core/held.js";
import { inUnit, isWhole } from "../core/limits.js";
import { isPuppy, PAIRS, stance, verdict, withheld } from "../core/measure.js";
import { asksOf, findingOf, markedTwice, markers, monthsOld, readingsOf, setsOf } from "../core/photosets.js";
import { few } from "../core/words.js";
import { dogFile } from "../dogfile.js";
import { clone, fill, icon, part, text } from "../dom.js";
import { veilSeconds } from "../look.js";
import { photoBook, rulesBook } from "../shipped.js";
import * as store from "../store.js";
import { rowsOf, sectionOf } from "./guard.js";
import { whoMarks } from "./marker.js";
import { dogName } from "./names.js";
import { drawMarked, pixelsFor } from "./photolines.js";
import { proportionRow } from "./proportionrow.js";

const LATELY = 60; // of each dog so many markings tell of the person's own error
const READING = 10; // times as long as a note is shown

/** @param {{id: string}} at */
export async function proportionsScreen({ id }) {
  const found = await dogFile(id);
  if (!found) return null;
  const file = found;
  const marked = await store.newest("marking", id, 1);
  const node = fill(clone("proportions"), { back: icon("back"), about: dogName(file.dog) });
  part(node, "back").href = `#/dog/${id}`;
  const title = `Proportions: ${dogName(file.dog)}`;
  if (!marked.length) {
    fill(node, { "veil-part": null, open: await emptyNode(file) });
    part(node, "open").hidden = false;
    return { node, title, live: true };
  }
  let chosen = "";
  const veil = veilOver(node, async () => {
    const now = await knownOf(file);
    const all = markers(now.markings);
    if (!all.length) return [await emptyNode(file)];
    const by = [chosen, now.who].find((name) => all.includes(name)) ?? all[0];
    const choose = (name) => {
      chosen = name;
      veil.show();
    };
    const twice = await twiceMarked(by);
    return sectionOf(() => [...peopleNodes(all, by, choose), ...shownNodes(file, { ...now, twice }, by)]);
  });
  return { node, title, refresh: veil.again, leave: veil.end };
}

/** Hide what `made` gives until it is tapped; once nobody touches it for long enough, or the app goes behind
    another, it is hidden again, and out of the page.
    @param {any} node @param {() => Promise<Node[]>} made */
function veilOver(node, made) {
  const leaving = new AbortController();
  const { signal } = leaving;
  const [open, veil] = [part(node, "open"), part(node, "veil")];
  let timer;
  const say = (isShown) => {
    veil.setAttribute("aria-expanded", String(isShown));
    veil.replaceChildren(icon(isShown ? "unveil" : "veil"), text("span", `${isShown ? "Hide" : "Show"} proportions`));
  };

  async function show() {
    open.replaceChildren(...(await made()));
    open.hidden = false;
    say(true);
    wait();
  }

  function hide() {
    clearTimeout(timer);
    if (open.contains(document.activeElement)) veil.focus();
    open.replaceChildren();
    open.hidden = true;
    say(false);
  }

  function wait() {
    clearTimeout(timer);
    if (!open.hidden) timer = setTimeout(hide, veilSeconds() * READING * 1000);
  }

  say(false);
  veil.addEventListener("click", () => (open.hidden ? show() : hide()));
  for (const sign of ["pointerdown", "keydown", "scroll"]) addEventListener(sign, wait, { signal, passive: true });
  document.addEventListener("visibilitychange", () => document.hidden && hide(), { signal });
  return {
    show,
    again: () => void (open.hidden || show()),
    end() {
      hide();
      leaving.abort();
    },
  };
}

/** {atlas, says, who, photos, markings, heightCm}: what is known of the dog. */
async function knownOf({ dog }) {
  const [atlas, { says }, photos, markings, who, heights] = await Promise.all([
    photoBook(),
    rulesBook(),
    store.about("photo", dog.id),
    store.about("marking", dog.id),
    whoMarks(),
    store.newestBy("measure", dog.id, ["height"]),
  ]);
  const height = heights.get("height")?.values;
  return {
    atlas,
    says,
    who,
    photos,
    markings,
    heightCm: height && isWhole(height) ? inUnit(height.value, height.unit, "cm") : null,
  };
}

/** {photos, markings} that tell how `by` finds marks, of all dogs: the newest markings of each, and the photos
    that are marked twice among them. */
async function twiceMarked(by) {
  const markings = (await newestMarkings(await store.all("dog"), LATELY)).flatMap((rows) => rows.reverse());
  const photos = await store.several("photo", markedTwice(markings, by));
  return { photos: photos.filter((row) => row && !row.values.deleted), markings };
}

/** The newest markings of each of these dogs, newest first. */
const newestMarkings = (dogs, most) => Promise.all(dogs.map(({ id }) => store.newest("marking", id, most)));

/** Where several people marked, whose marks are shown: they are never mixed. */
function peopleNodes(all, by, choose) {
  if (all.length < 2) return [];
  const node = clone("proportion-people");
  const select = part(node, "by");
  select.replaceChildren(...all.map((name) => new Option(name, name)));
  select.value = by;
  select.addEventListener("change", () => choose(select.value));
  return [node];
}

async function emptyNode({ dog }) {
  const node = clone("proportions-empty");
  part(node, "photos").href = `#/dog/${dog.id}/photos`;
  const others = (await store.all("dog")).filter(({ id }) => id !== dog.id);
  const other = (await newestMarkings(others, 1)).flat()[0]?.values.dog;
  if (!other) return fill(node, { other: null });
  part(node, "other").href = `#/dog/${other}/proportions`;
  return node;
}

function shownNodes(file, known, by) {
  const { atlas, photos, markings, twice } = known;
  const finding = findingOf(atlas, twice.photos, twice.markings, by);
  const sets = setsOf(atlas, photos, markings, by).map((set) => ({
    ...set,
    list: readingsOf(atlas, set, { heightCm: known.heightCm, tem: finding.tem }),
  }));
  const views = Object.keys(atlas.views).filter((view) => sets.some((set) => set.view === view));
  if (!views.length) return [text("p", "None of the marked photos can be measured: their size or view is not known.")];
  const about = { book: { atlas, says: known.says }, file, by };
  return [
    ...views.flatMap((view) =>
      sectionOf(() =>
        viewNode(
          about,
          sets.filter((set) => set.view === view),
        ),
      ),
    ),
    sourceNode(atlas, finding),
    refusedNode(atlas),
  ];
}

/** The section of a view: of its newest set, with what its values were before. */
function viewNode({ book, file, by }, sets) {
  const { atlas } = book;
  const set = sets[sets.length - 1];
  const { view, day, shots, list } = set;
  const { values } = file.dog;
  const months = monthsOld(values.born, day);
  const asks = asksOf(file.part, values);
  const aside = withheld(atlas, list);
  const row = (reading) => {
    const { measure } = reading;
    return proportionRow(book, reading, {
      asks: asks(measure),
      judge: (ask) => verdict(reading, ask, months, aside),
      series: sets.flatMap((one) => one.list.filter(isOf(measure)).map((found) => ({ ...found, day: one.day }))),
    });
  };
  const told = list.filter(({ value }) => value !== null);
  const [judged, recorded] = [1, 2].map((kind) => told.filter((one) => one.class === kind));
  const trend = list.filter((one) => one.class === 3);
  const node = fill(clone("proportion-view"), {
    name: atlas.views[view].name,
    of: `${sayDay(day)}: ${few(shots.length, "photo")} marked by ${by}.`,
    hints: hints(atlas, { list, months, shots, isShort: aside.length > 0, asks }),
    rows: rowsOf(judged, row),
    unseen: unseenWords(atlas, list),
    ...folded("recorded", recorded, row),
    ...folded("trend", trend, row),
    ...(trend.length > 0 && { "trend-why": atlas.lines.shoulder?.says ?? null }),
  });
  part(node, "mark").href = `#/photo/${shots[shots.length - 1].photo.id}/mark`;
  showPicture(part(node, "picture"), shots[shots.length - 1]);
  return node;
}

const isOf = (measure) => (one) => one.measure === measure && one.value !== null;

/** The rows of a folded part, or the part taken away. */
const folded = (name, list, row) => (list.length ? { [name]: rowsOf(list, row) } : { [`${name}-part`]: null });

/** What to know before the values are read. */
function hints(atlas, { list, months, shots, isShort, asks }) {
  const line = (id) => held(atlas.lines, id)?.says;
  const leaning = stance(atlas, list).map(({ measure }) => atlas.measures[measure].name.toLowerCase());
  const isTwice = list.some(
    ({ measure, value }) => value !== null && asks(measure).some(({ measures }) => measures.length > 1),
  );
  const said = [
    leaning.length && `${line("stand")} (${leaning.join(", ")})`,
    shots.some(({ photo }) => !(photo.values.focal35 > 0)) && line("camera"),
    isPuppy(months) && line("puppy"),
    shots.length < 3 && "Take three photos on one day and set the dog up again before each: that is more certain.",
    isTwice && line("ends"),
    isShort && line("face-risk"),
    isShort && line("face-signs"),
  ];
  return said.filter(Boolean).map((words, at) => {
    const isCaution = at === 0 && leaning.length > 0;
    return fill(clone("told-row"), { icon: icon(isCaution || isShort ? "caution" : "open"), words });
  });
}

/** The measures that need a mark which cannot be seen, or was not set. */
function unseenWords(atlas, list) {
  const names = list
    .filter((one) => one.value === null && one.class < 3)
    .map(({ measure }) => atlas.measures[measure].name.toLowerCase());
  return names.length ? `Not from these marks: ${names.join(", ")}.` : null;
}

/** The picture with its lines; where it is gone, the lines alone. */
async function showPicture(canvas, { photo, marks }) {
  const picture = await pixelsFor(photo);
  const draw = () => drawMarked(canvas, { picture, photo: photo.values, marks });
  draw();
  if (!picture) canvas.after(text("p", "The picture is not on this phone. Its marks still count.", "muted"));
  new ResizeObserver(draw).observe(canvas);
}

/** How the values are to be read, and by whose error. */
function sourceNode(atlas, { tem, count }) {
  const own = Object.keys(tem).length;
  const words = own
    ? `Your own error, from ${few(count, "photo")} marked twice, is used for ${few(own, "mark")}.`
    : `Your own error is not known yet: mark ${PAIRS} photos twice, the second time without seeing the first. Done: ${count}.`;
  return fill(clone("proportion-how"), {
    lines: [words, held(atlas.lines, "interval")?.says, held(atlas.lines, "people")?.says]
      .filter(Boolean)
      .map((one) => text("p", one)),
  });
}

const refusedNode = (atlas) =>
  fill(clone("proportion-refused"), {
    list: (atlas.refused ?? []).map(({ name, why }) => {
      const row = document.createElement("li");
      row.append(text("b", name), text("p", why));
      return row;
    }),
  });
