// A small chart as SVG: weights by day, the limits, and the forecast. State is told by shape: a dot was
// weighed, a cross marks the day of the show, a dashed line is a limit.

import { areaOf, frameOf, pathOf } from "../core/chart.js";
import { sayDay } from "../core/days.js";
import { drawn } from "../dom.js";

/** @param {{points: any[][], limits?: {value: number, words: string}[], fan?: any[],
      target?: number | null, rows?: number[], nameOf?: (value: number) => string, words: string}} told
      values in one unit; `rows` are the values of the axis where they are given, `nameOf` says one; `words` is
      the chart in words */
export function chartNode({ points, limits = [], fan = [], target = null, rows = [], nameOf = String, words }) {
  const days = [...points.map(([day]) => day), ...fan.map(({ day }) => day)];
  const values = [
    ...points.map(([, value]) => value),
    ...fan.flatMap(({ low, high }) => [low, high]),
    ...limits.map(({ value }) => value),
    ...rows,
  ];
  const frame = frameOf(days, values);
  const { width, height } = frame.size;
  const svg = drawn("svg", { class: "chart", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": words });
  svg.append(...axes(rows.length ? { ...frame, rows } : frame, nameOf));
  if (fan.length) svg.append(...ahead(frame, fan, target));
  for (const limit of limits) svg.append(...limitLine(frame, limit));
  svg.append(drawn("path", { class: "chart-line", d: pathOf(frame, points) }));
  svg.append(...points.map(([day, value]) => drawn("circle", { class: "chart-dot", ...at(frame, day, value), r: 4 })));
  return svg;
}

const at = ({ x, y }, day, value) => ({ cx: x(day), cy: y(value) });

function axes({ size, edge, y, rows, columns }, nameOf) {
  const right = size.width - edge.right;
  return [
    ...rows.flatMap((value) => [
      drawn("path", { class: "chart-grid", d: `M${edge.left} ${y(value)}H${right}` }),
      label(nameOf(value), { x: edge.left - 6, y: y(value) + 5, "text-anchor": "end" }),
    ]),
    label(shortDay(columns[0]), { x: edge.left, y: size.height - 8 }),
    label(shortDay(columns[1]), { x: right, y: size.height - 8, "text-anchor": "end" }),
  ];
}

function ahead(frame, fan, target) {
  const ends = fan[fan.length - 1];
  const line = (name) => fan.map((one) => [one.day, one[name]]);
  const [x, y] = [frame.x(ends.day), frame.y(ends.kg)];
  const found = [
    drawn("path", { class: "chart-fan", d: areaOf(frame, line("low"), line("high")) }),
    drawn("path", { class: "chart-ahead", d: pathOf(frame, line("kg")) }),
    drawn("path", { class: "chart-cross", d: `M${x - 5} ${y - 5}l10 10m0 -10l-10 10` }),
  ];
  if (target !== null) {
    const first = fan[0];
    const way = pathOf(frame, [
      [first.day, first.kg],
      [ends.day, target],
    ]);
    found.push(drawn("path", { class: "chart-target", d: way }));
  }
  return found;
}

function limitLine({ size, edge, y }, { value, words }) {
  const line = drawn("path", { class: "chart-limit", d: `M${edge.left} ${y(value)}H${size.width - edge.right}` });
  const isHigh = y(value) < edge.top + 22;
  return [line, label(words, { class: "chart-name", x: edge.left + 4, y: y(value) + (isHigh ? 18 : -6) })];
}

/** "24 Nov": a day where there is little room. */
function shortDay(day) {
  const [date, month] = sayDay(day).split(" ");
  return `${date} ${month.slice(0, 3)}`;
}

function label(words, attributes) {
  const made = drawn("text", attributes);
  made.textContent = words;
  return made;
}
