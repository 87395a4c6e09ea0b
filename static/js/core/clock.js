// The hybrid logical clock; the same functions as ringside/book/clock.py, where it is explained.
// tests/vectors/clock.json holds the two together.

const MOST_COUNTED = 0xffff;

export const STAMP = /^[0-9a-f]{12}-[0-9a-f]{4}-[0-9a-f]{12}$/;

export const nodeOf = (device) => device.slice(-12);
export const ms = (stamp) => parseInt(stamp.slice(0, 12), 16);
export const node = (stamp) => stamp.slice(18);

const hex = (number, width) => number.toString(16).padStart(width, "0");

/** The stamp after `last` for node `by` when the wall clock says `now` (ms). Never goes back. The
    counts of a device are even; the odd ones are the book's, where it stamps in our name. */
export function tick(last, now, by) {
  if (!last || ms(last) < now) return `${hex(now, 12)}-0000-${by}`;
  const counter = (parseInt(last.slice(13, 17), 16) | 1) + 1;
  if (counter > MOST_COUNTED) return `${hex(ms(last) + 1, 12)}-0000-${by}`;
  return `${last.slice(0, 12)}-${hex(counter, 4)}-${by}`;
}

export const later = (one, other) => (one > other ? one : other);
