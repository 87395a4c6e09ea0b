// A show in one line.

import { lastDay, sayDay } from "../core/days.js";

export const aboutShow = ({ body, day, until, place }) =>
  [body, day ? daysWords(day, lastDay({ day, until })) : "no day yet", place].filter(Boolean).join(" · ");

const daysWords = (day, last) => (last === day ? sayDay(day) : `${sayDay(day)} to ${sayDay(last)}`);
