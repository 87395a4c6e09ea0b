// The shows of now and later, found by their first day.

import { addDays, LONGEST_SHOW } from "./core/days.js";
import * as store from "./store.js";

/** The shows that may not be over on `day`, by their first day. */
export const showsFrom = (day) => store.from("show", "", addDays(day, -LONGEST_SHOW));
