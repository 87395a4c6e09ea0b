// The shows of now and later, found by their first day.

import { addDays, LONGEST_SHOW, lastDay } from "./core/days.js";
import * as store from "./store.js";

/** The shows that may not be over on `day`, by their first day. */
export const showsFrom = (day) => store.from("show", "", addDays(day, -LONGEST_SHOW));

/** The shows that are not over on `day`, the soonest first: [{id, ...values}]. */
export async function showsComing(day) {
  const shows = (await showsFrom(day)).map((show) => ({ id: show.id, ...show.values }));
  return shows.filter((show) => lastDay(show) >= day).sort((one, other) => (one.day < other.day ? -1 : 1));
}
