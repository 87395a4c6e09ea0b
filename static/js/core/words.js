// Plain words for times, ages and counts.

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;

const few = (count, one, many = `${one}s`) => `${count} ${count === 1 ? one : many}`;

export { few };

/** "just now", "2 min ago", "3 h ago", "yesterday", "5 days ago". */
export function ago(moment, now = Date.now()) {
  const past = now - Date.parse(moment);
  if (past < MINUTE) return "just now";
  if (past < HOUR) return `${Math.floor(past / MINUTE)} min ago`;
  if (past < DAY) return `${Math.floor(past / HOUR)} h ago`;
  const [then, today] = [moment, now].map((at) => Date.parse(localDay(new Date(at))));
  const days = Math.max(1, Math.round((today - then) / DAY));
  return days === 1 ? "yesterday" : `${days} days ago`;
}

/** How many whole months there are from one day to another, counted in the calendar. */
export function wholeMonths(from, to) {
  const [year, month, day] = from.split("-").map(Number);
  const [thisYear, thisMonth, thisDay] = to.split("-").map(Number);
  return (thisYear - year) * 12 + thisMonth - month - (thisDay < day ? 1 : 0);
}

/** "11 weeks", "8 months", "2 years 3 months": how old on a day, counted in the calendar. */
export function age(born, today = localDay()) {
  const months = wholeMonths(born, today);
  if (months < 0) return "not born yet";
  if (months < 4) return few(Math.floor((Date.parse(today) - Date.parse(born)) / (7 * DAY)), "week");
  if (months < 24) return few(months, "month");
  const rest = months % 12;
  return few(Math.floor(months / 12), "year") + (rest ? ` ${few(rest, "month")}` : "");
}

/** Today where the phone is, YYYY-MM-DD. */
export function localDay(now = new Date()) {
  const two = (number) => String(number).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/** "1:05" for a number of ms. */
export function clockTime(span) {
  const seconds = Math.floor(span / 1000);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

/** "6 minutes", "3 hours", "2 days": a span without its sign. */
export function span(length) {
  const size = Math.abs(length);
  if (size < 2 * HOUR) return few(Math.round(size / MINUTE), "minute");
  if (size < 2 * DAY) return few(Math.round(size / HOUR), "hour");
  return few(Math.round(size / DAY), "day");
}
