// Days as text, YYYY-MM-DD: counted, and said as ringside/domain/days.py says them.

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

/** No show runs longer (days; from memory), as in ringside/domain/eligibility/shapes.py. */
export const LONGEST_SHOW = 31;

/** The last day of a show; a last day that lies too far on is a slip of the pen. "" for no day. */
export function lastDay({ day, until }) {
  if (!day || !until || until < day) return day ?? until ?? "";
  return daysBetween(day, until) < LONGEST_SHOW ? until : addDays(day, LONGEST_SHOW - 1);
}

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
