// Days as text, YYYY-MM-DD: counted, said, and those of shows and entries, as in ringside/domain/days.py.

import { minutesOf } from "./day.js";

const DAY = 86_400_000;
const MONTHS = [
  "January",
  "February",
  "March",
  "April",
  "May",
  "June",
  "July",
  "August",
  "September",
  "October",
  "November",
  "December",
];

/** No show runs longer (days; from memory). */
export const LONGEST_SHOW = 31;

/** The last day of a show; a last day that lies too far on is a slip of the pen. "" for no day. */
export function lastDay({ day, until }) {
  if (!day || !until || until < day) return day ?? until ?? "";
  return daysBetween(day, until) < LONGEST_SHOW ? until : addDays(day, LONGEST_SHOW - 1);
}

/** Whether a show is on at `day`; one without a first day never is. */
export const isOn = (show, day) => show.day <= day && day <= lastDay(show);

/** The day on which an entry goes in: its own, or that of its show. A show that has begun and is not over is
    one of today. "" for none. */
export const dayOf = (entry, show, today) => entry.day ?? (isOn(show, today) ? today : (show.day ?? ""));

/** {entry, show, day} of what goes in first from `today` on, of entries and their shows (rows); null for nothing.
    Of one day by time, what has no time last, and then by id. */
export function nextEntry(entered, today) {
  const turns = entered.map((one) => ({ ...one, day: dayOf(one.entry.values, one.show.values, today) }));
  const ahead = turns.filter(({ day }) => day >= today);
  return ahead.sort((one, other) => (orderOf(one) < orderOf(other) ? -1 : 1))[0] ?? null;
}

const orderOf = ({ day, entry }) => `${day} ${String(minutesOf(entry.values.time)).padStart(4, "0")} ${entry.id}`;

/** A day as a person says it: "4 March 2027". */
export function sayDay(day) {
  const [year, month, date] = day.split("-").map(Number);
  return `${date} ${MONTHS[month - 1]} ${year}`;
}

/** A day so many days on, YYYY-MM-DD. */
export const addDays = (day, count) =>
  new Date(Date.parse(`${day}T00:00:00Z`) + count * DAY).toISOString().slice(0, 10);

export const daysBetween = (from, to) =>
  Math.round((Date.parse(`${to}T00:00:00Z`) - Date.parse(`${from}T00:00:00Z`)) / DAY);
