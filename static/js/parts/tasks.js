// The tasks before a show of one entry: what the book and the handler have, and what was done to each.

import { traitsOf } from "../core/asks.js";
import { laidOut, ownStep, stepOf, tasksFor } from "../core/countdown.js";
import { held } from "../core/held.js";
import { breedOf, countdownBook } from "../shipped.js";
import * as store from "../store.js";

const OWN = "own";

/** What is known of the countdown of an entry: {book, coat, uncut, day, due}. `due` gives the rows, by day,
    of the touches {key: {state, day}}; `touched` are those that are kept.
    @param {{entry: any, show: any, dog: any}} about rows */
export async function countdownOf({ entry, show, dog }) {
  const [book, breed, kept] = await Promise.all([countdownBook(), breedOf(dog), store.about("task", entry.id)]);
  const { coat } = traitsOf(breed, dog.values.variety);
  const day = entry.values.day ?? show.values.day ?? "";
  const tasks = tasksFor(book, { coat, breed: dog.values.breed, body: show.values.body });
  const own = kept.filter(({ values }) => values.task === OWN);
  const steps = [...tasks.map(stepOf), ...own.map(({ id, values }) => ownStep(id, values, day))];
  const touched = new Map(kept.filter(({ values }) => values.task && values.task !== OWN).map(touchOf));
  const known = new Map([
    ...tasks.map((task) => [task.id, task]),
    ...own.map(({ id, values }) => [id, { name: values.line?.trim() || "A task of your own", own: id }]),
  ]);
  return {
    book,
    coat,
    day,
    uncut: held(book.uncut, dog.values.breed),
    touched,
    due: (touches) => (day ? laidOut(steps, touches, day) : []).map((one) => ({ ...one, task: known.get(one.step) })),
  };
}

const touchOf = ({ values }) => [values.task, { state: values.state ?? "open", day: values.day ?? null }];

/** Write down a task of one's own. */
export const addTask = (entry, values) => store.write("task", null, { ...values, entry, task: OWN });
