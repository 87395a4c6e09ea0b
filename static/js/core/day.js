// The day of a show: in what order dogs go in, and who is next. Pure; the moment is given.

const DAY = 24 * 60;
// Rings run late: an hour after its time a dog may still be waiting (min).
const LATE = 60;

/** Minutes after midnight of a time such as "9:45" or "2:30 pm"; what is no time of day comes last. */
export function minutesOf(time) {
  const [, hour, minute, half] = time?.match(/^(\d{1,2})[:.h](\d{2})(?!\d)\s*([ap])?/i) ?? [];
  if (!hour) return DAY;
  const afternoon = half ? { a: 0, p: 12 }[half.toLowerCase()] : null;
  return (afternoon === null ? Number(hour) : (Number(hour) % 12) + afternoon) * 60 + Number(minute);
}

/** Entries, {time, isDone}, in the order of the day. */
export const inOrder = (entries) => [...entries].sort((one, other) => minutesOf(one.time) - minutesOf(other.time));

/** Who goes in next of entries in order, at so many `minutes` after midnight; null when all are done. */
export function nextIn(entries, minutes) {
  const waiting = entries.filter(({ isDone }) => !isDone);
  return waiting.find(({ time }) => minutesOf(time) + LATE >= minutes) ?? waiting.at(-1) ?? null;
}
