// The geometry of a small chart of values by day: where things stand, and what the axes say. Pure; the
// drawing is parts/chart.js.

import { addDays, daysBetween } from "./days.js";

const SIZE = { width: 328, height: 230 };
const EDGE = { left: 46, right: 12, top: 14, bottom: 30 };
const STEPS = [1, 2, 2.5, 5, 10];
const ROOM = 0.06; // of the span, above and below
const MOST_TICKS = 5;

/** Round values from `low` to `high`, few enough to be read. */
export function ticks(low, high, most = MOST_TICKS) {
  const rough = (high - low) / (most - 1) || 1;
  const size = 10 ** Math.floor(Math.log10(rough));
  const step = size * (STEPS.find((one) => one * size >= rough) ?? 10);
  const found = [];
  for (let count = Math.ceil(low / step - 1e-9); count * step <= high + 1e-9; count += 1)
    found.push(Number((count * step).toPrecision(12)));
  return found;
}

/** {size, x, y, rows, columns}: places of days and values, the values and days that the axes name. `days` and
    `values` are all that must be in sight.
    @param {string[]} days
    @param {number[]} values */
export function frameOf(days, values) {
  const inOrder = [...days].sort();
  const from = inOrder[0];
  const span = Math.max(daysBetween(from, inOrder[inOrder.length - 1]), 1);
  const [least, greatest] = [Math.min(...values), Math.max(...values)];
  const room = (greatest - least || greatest * 0.1 || 1) * ROOM;
  const [low, high] = [least - room, greatest + room];
  const wide = SIZE.width - EDGE.left - EDGE.right;
  const tall = SIZE.height - EDGE.top - EDGE.bottom;
  return {
    size: SIZE,
    edge: EDGE,
    x: (day) => EDGE.left + (wide * daysBetween(from, day)) / span,
    y: (value) => EDGE.top + (tall * (high - value)) / (high - low),
    rows: ticks(low, high),
    columns: [from, addDays(from, span)],
  };
}

const place = (number) => String(Math.round(number * 10) / 10);

/** A line through points, [day, value], as a path. */
export const pathOf = ({ x, y }, points) =>
  points.map(([day, value], at) => `${at ? "L" : "M"}${place(x(day))} ${place(y(value))}`).join("");

/** The area between two lines over the same days, as a path. */
export const areaOf = (frame, low, high) => `${pathOf(frame, [...high, ...[...low].reverse()])}Z`;
