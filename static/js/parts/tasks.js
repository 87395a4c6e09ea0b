// The tasks before a show of one entry: what the book and the handler have, and what was done to each.

import { traitsOf } from "../core/asks.js";
import { laidOut, ownStep, stepOf, tasksFor } from "../core/countdown.js";
import { held } from "../core/held.js";
import { idOf } from "../core/ids.js";
import { breedOf, countdownBook } from "../shipped.js";
import * as store from "../store.js";

const OWN = "own";

/** What is known of the countdown of an entry: {book, coat, uncut, day, due, touched}. `due` gives what is
    due, by day, with what was done to it ([{values}] of the kind task); `touched` are the rows of that which
    are kept, removed ones too.
    @param {{entry: any, show: any, dog: any}} about rows */
export async function countdownOf({ entry, show, dog }) {
  const [book, breed, kept] = await Promise.all([countdownBook(), breedOf(dog), store.about("task", entry.id)]);
  const { coat } = traitsOf(breed, dog.values.variety);
  const day = entry.values.day ?? show.values.day ?? "";
  const tasks = tasksFor(book, { coat, breed: dog.values.breed, body: show.values.body });
  const own = kept.filter(({ values }) => values.task === OWN);
  const steps = [...tasks.map(stepOf), ...own.map(({ id, values }) => ownStep(id, values, day))];
  const dueWith = (touches) => (day ? laidOut(steps, touches, day) : []);
  const gone = await store.several(
    "task",
    dueWith(new Map()).map(({ key }) => touchId(entry.id, key)),
  );
  const known = new Map([
    ...tasks.map((task) => [task.id, task]),
    ...own.map(({ id, values }) => [id, { name: values.line?.trim() || "A task of your own", own: id }]),
  ]);
  return {
    book,
    coat,
    day,
    uncut: held(book.uncut, dog.values.breed),
    touched: [...kept, ...gone.filter((row) => row?.values.deleted)].filter(isTouch),
    due: (touches) =>
      dueWith(new Map(touches.filter(isTouch).map(touchOf))).map((one) => ({ ...one, task: known.get(one.step) })),
  };
}

/** The id of what is done to one thing that is due: on two phones it is one record. */
export const touchId = (entry, key) => idOf(`task ${entry} ${key}`);

const isTouch = ({ values }) => values.task && values.task !== OWN;
const touchOf = ({ values }) => [values.task, { state: values.state ?? "open", day: values.day ?? null }];

/** Write down a task of one's own. */
export const addTask = (entry, values) => store.write("task", null, { ...values, entry, task: OWN });
