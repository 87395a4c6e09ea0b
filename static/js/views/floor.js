// Stack and lead: how long the dog holds a stand or a pattern, with one large target for the clock.

import { maySleep, stayAwake } from "../awake.js";
import { ago, clockTime, few } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { rowsOf } from "../parts/guard.js";
import { dogName } from "../parts/names.js";
import * as store from "../store.js";

export const routes = { "dog/:id/floor": floor };

const EXERCISES = {
  stack: "Stack",
  "free stack": "Free stack",
  "down and back": "Down and back",
  triangle: "Triangle",
  "go-round": "Go-round",
};
const MOST = 3600; // s, as the record takes
const MOST_CORRECTIONS = 100;

async function floor({ id }) {
  const dog = await store.get("dog", id);
  if (!dog || dog.values.deleted) return null;
  const key = `floor ${id}`;
  const node = fill(clone("floor"), { back: icon("back"), title: `Stack and lead: ${dogName(dog)}` });
  part(node, "back").href = `#/dog/${id}/practice`;
  // A clock that runs, or a time that is not kept yet, is a draft: it outlives a kill.
  let now = (await store.draft(key))?.values ?? { what: "stack" };
  fill(node, { exercises: Object.entries(EXERCISES).map(([value, words]) => exercise(value, words)) });

  function exercise(value, words) {
    const choice = fill(clone("order-choice"), { words });
    const input = part(choice, "input");
    input.name = "what";
    input.value = value;
    input.checked = now.what === value;
    input.addEventListener("change", () => keep({ ...now, what: value }));
    return choice;
  }

  async function keep(then) {
    now = then;
    draw();
    await store.putDraft(key, now).catch((error) => console.error(error));
  }

  const secondsNow = () => Math.min(MOST, Math.max(0, Math.round((Date.now() - now.began) / 1000)));

  function tap() {
    if (now.began) keep({ what: now.what, seconds: secondsNow(), corrections: now.corrections });
    else keep({ what: now.what, began: Date.now(), corrections: 0 });
  }

  function correct(by) {
    const corrections = Math.min(MOST_CORRECTIONS, Math.max(0, (now.corrections ?? 0) + by));
    keep({ ...now, corrections });
    say(`${few(corrections, "correction")}.`);
  }

  async function write() {
    const { what, seconds, corrections } = now;
    try {
      await store.write("floor", null, { dog: id, what, seconds, corrections, at: new Date().toISOString() });
      await drop();
      say("Saved.");
      await list();
    } catch (error) {
      fill(node, { trouble: `Not saved: ${error.message} Tap again.` });
    }
  }

  async function drop() {
    now = { what: now.what };
    draw();
    await store.dropDraft(key);
  }

  function draw() {
    const isDone = now.seconds !== undefined;
    fill(node, {
      trouble: "",
      clock: clockTime(1000 * (now.began ? secondsNow() : (now.seconds ?? 0))),
      main: now.began ? "Stop" : "Start",
      corrections: few(now.corrections ?? 0, "correction"),
    });
    part(node, "main").hidden = isDone;
    part(node, "count").hidden = !now.began && !isDone;
    part(node, "keeping").hidden = !isDone;
    part(node, "exercises").parentElement.disabled = Boolean(now.began);
  }

  async function list() {
    const newest = await store.newestBy("floor", id, Object.keys(EXERCISES));
    const rows = [...newest.values()].filter(({ values }) => values.seconds != null && values.at);
    fill(node, { rows: rowsOf(rows, lastRow), none: rows.length ? "" : "Nothing written down yet." });
  }

  on(node, "main", tap);
  on(node, "more", () => correct(1));
  on(node, "fewer", () => correct(-1));
  on(node, "keep", write);
  on(node, "drop", drop);
  const ticking = setInterval(() => now.began && fill(node, { clock: clockTime(1000 * secondsNow()) }), 1_000);
  draw();
  await list();
  return {
    node,
    title: "Stack and lead",
    refresh: list,
    shown: stayAwake,
    leave() {
      clearInterval(ticking);
      maySleep();
    },
  };
}

function lastRow({ values }) {
  const { what, seconds, corrections = 0, at } = values;
  const facts = [clockTime(1000 * seconds), few(corrections ?? 0, "correction"), ago(at)];
  return fill(clone("floor-row"), { what: EXERCISES[what] ?? "Practice", words: facts.join(", ") });
}
