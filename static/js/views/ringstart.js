// Where Ring begins: what the steward calls, and how far a broken-off walk had come.

import { maySleep, stayAwake } from "../awake.js";
import { held } from "../core/held.js";
import { isTickOf, lastSettled, position, states, steps } from "../core/walk.js";
import { ago } from "../core/words.js";
import { cardOf, dogFile } from "../dogfile.js";
import { clone, fill, icon, part, stationFigure } from "../dom.js";
import { entryAndShow, entryOfDay } from "../parts/entries.js";
import { dogName } from "../parts/names.js";
import { waysIn } from "../parts/walkstart.js";
import { goInstead } from "../router.js";
import { rulesBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/ring": ofDog, "entry/:id/ring": ofEntry };

async function ofDog({ id }) {
  const file = await dogFile(id);
  return file && ringStart(file, await entryOfDay(id), `#/dog/${id}`);
}

async function ofEntry({ id }) {
  const found = await entryAndShow(id);
  const file = found && (await dogFile(found.entry.values.dog));
  return file && ringStart(file, found, `#/gate/${id}`);
}

async function ringStart(file, found, back) {
  const awake = await stayAwake();
  const node = fill(clone("ring-start"), {
    back: icon("back"),
    title: `Ring: ${dogName(file.dog)}`,
    call: found ? await callNode(found) : null,
    figure: stationFigure(file.base.figure, "outline"),
    awake: awake ? null : "This phone does not keep its screen on. Set a longer screen time-out before you go in.",
  });
  part(node, "back").href = back;
  const cameTo = (walk) => howFar(file, walk);
  await waysIn(node, file, "ring", { entry: found?.entry.id, words: "Go in", cameTo, goTo: goInstead });
  return { node, title: "Ring", leave: maySleep };
}

async function howFar(file, { id, values }) {
  const all = steps(cardOf(file, values.stations));
  const ticks = (await store.about("tick", id)).map((row) => row.values).filter((tick) => isTickOf(all, tick));
  const at = position(all, values.place, states(ticks));
  const last = lastSettled(ticks);
  const name = all.find((step) => step.id === last?.station)?.station.name;
  return {
    far: `${at.step.phase.name}: ${at.done} of ${at.of} done`,
    last: last ? `Last: ${name} ${last.state}, ${ago(last.at)}` : "",
    place: at.step.isEnd ? `after ${at.step.phase.name}` : `at ${at.step.station.name}`,
  };
}

/** What the steward calls, in large type. */
async function callNode({ entry, show }) {
  const { armband, ring, time, klass, judge } = entry.values;
  const { windows } = await rulesBook();
  const classes = held(windows.b, (show.values.body ?? "").toLowerCase())?.c;
  const node = clone("call");
  const called = { armband: armband || "none yet", ring: ring || "not known", time: time || "not known" };
  for (const [name, words] of Object.entries(called)) {
    part(node, name).toggleAttribute("data-lacks", words !== entry.values[name]);
  }
  return fill(node, {
    ...called,
    klass: held(classes, klass)?.n ?? klass ?? "not known",
    judge: judge || "not known",
    show: show.values.name ?? "",
  });
}
