// A show in one line.

import { sayDay } from "../core/days.js";

export const aboutShow = ({ body, day, until, place }) =>
  [body, day && (until && until !== day ? `${sayDay(day)} to ${sayDay(until)}` : sayDay(day)), place]
    .filter(Boolean)
    .join(" · ");
