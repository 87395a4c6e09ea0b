// A proportion: what it is, how sure, what is asked, and how it stands to that, by a word, a shape and a bar.

import { sayDay } from "../core/days.js";
import { held } from "../core/held.js";
import { limitSource } from "../core/limits.js";
import { changeOf, inWords, withBounds } from "../core/photosets.js";
import { sentence } from "../core/says.js";
import { clone, drawn, fill, icon, text } from "../dom.js";
import { chartNode } from "./chart.js";

const WORDS = {
  meets: { words: "Meets the ask", sign: "done" },
  over: { words: "Over the ask", sign: "up" },
  under: { words: "Under the ask", sign: "down" },
  "cannot tell": { words: "Cannot tell", sign: "open" },
};
const TREND = 3; // the class of what is a trend of one dog by one person
const BOW = "topline-bow";
const BAR = { width: 320, height: 46, edge: 12, middle: 18 };

/** A row of a reading. `asks` are those that may mean it, `series` [{day, value, u}] its values so far; `months`
    is how old the dog was, and null where no word may be said.
    @param {{atlas: any, says: any}} book @param {any} reading
    @param {{asks: any[], judge: (ask: any) => {word: string | null, low: number | null, high: number | null}, series: any[]}} about */
export function proportionRow({ atlas, says }, reading, { asks, judge, series }) {
  const measure = atlas.measures[reading.measure];
  const isThere = reading.value != null;
  const judged = (ask) => askNode({ atlas, says }, reading, ask, judge(ask));
  return fill(clone("proportion"), {
    name: measure.name,
    value: isThere ? withBounds(measure.unit, reading) : "–",
    says: measure.says,
    asks: measure.class === TREND ? asks.map((ask) => saidNode(says, ask)) : isThere ? asks.map(judged) : [],
    why:
      bowWords(reading) ??
      held(atlas.lines, reading.why)?.says ??
      (measure.class === TREND ? measure.why : null) ??
      null,
    past: pastNodes(measure, series),
  });
}

/** What the standard says of an angle: it stands beside it, and nothing is compared. */
const saidNode = (says, ask) =>
  fill(clone("proportion-ask"), {
    bar: null,
    icon: icon("skipped"),
    word: "Beside it, never compared",
    ask: `${ask.of}: ${ask.says}`,
    point: null,
    "source-words": sentence(says, limitSource(ask)),
  });

/** What a bow of the topline is called, where its sign is sure. */
function bowWords({ measure, value, u }) {
  if (measure !== BOW || value == null) return null;
  if (Math.abs(value) <= 2 * u) return "Level, as far as these marks tell.";
  return value > 0 ? "It rises between withers and tail set." : "It dips between withers and tail set.";
}

function askNode({ atlas, says }, reading, ask, { word, low, high }) {
  const told = held(WORDS, word) ?? { words: "Recorded, not judged", sign: "skipped" };
  const isPoint = ask.low != null && ask.low === ask.high;
  return fill(clone("proportion-ask"), {
    icon: icon(told.sign),
    word: told.words,
    ask: `${ask.of}: ${ask.says}`,
    bar: barNode(atlas.measures[reading.measure].unit, reading, { low, high }, told.words),
    point: isPoint ? atlas.lines.point.says : null,
    "source-words": sentence(says, limitSource(ask)),
  });
}

/** The ask as a band, the value as a dot within its interval. */
function barNode(unit, { value, u }, { low, high }, words) {
  const [least, most] = [value - 2 * u, value + 2 * u];
  const ends = [least, most, low, high].filter((one) => one != null);
  const [from, to] = [Math.min(...ends), Math.max(...ends)];
  const room = (to - from) * 0.15 || 0.01;
  const x = (at) => BAR.edge + ((at - from + room) / (to - from + 2 * room)) * (BAR.width - 2 * BAR.edge);
  const { width, height, middle } = BAR;
  const band = [low == null ? 0 : x(low), high == null ? width : x(high)];
  const range = [low, high].map((one) => (one == null ? "open" : inWords(unit, one)));
  const svg = drawn("svg", {
    class: "proportion-bar",
    viewBox: `0 0 ${width} ${height}`,
    role: "img",
    "aria-label": `${words}: from ${inWords(unit, least)} to ${inWords(unit, most)}, asked ${range.join(" to ")}`,
  });
  svg.append(
    drawn("rect", { class: "bar-band", x: band[0], y: middle - 12, width: Math.max(band[1] - band[0], 2), height: 24 }),
    drawn("path", {
      class: "bar-interval",
      d: `M${x(least)} ${middle}H${x(most)}M${x(least)} ${middle - 7}v14M${x(most)} ${middle - 7}v14`,
    }),
    drawn("circle", { class: "bar-value", cx: x(value), cy: middle, r: 5 }),
    ...[low, high].flatMap((one, at) =>
      one == null || (at && low === high) ? [] : [bound(x(one), inWords(unit, one), at)],
    ),
  );
  return svg;
}

function bound(x, words, isHigh) {
  const made = drawn("text", { x, y: BAR.height - 2, "text-anchor": isHigh ? "start" : "end" });
  made.textContent = words;
  return made;
}

/** What it was before, with what of the change can be believed. */
function pastNodes(measure, series) {
  const past = series.length > 1 ? changeOf(series) : null;
  if (!past) return [];
  const { then, isYear, change, least } = past;
  const moved = inWords(measure.unit, Math.abs(change));
  const believed =
    Math.abs(change) > least
      ? `It has ${change > 0 ? "risen" : "fallen"} by ${moved}.`
      : `A change of less than ${inWords(measure.unit, least)} may be chance.`;
  const words = `${isYear ? "A year ago" : "Before"}, ${sayDay(then.day)}: ${withBounds(measure.unit, then)}. ${believed}`;
  return [text("p", words), seriesNode(measure, series)];
}

function seriesNode(measure, series) {
  const node = fill(clone("proportion-series"), {
    rows: [...series].reverse().map((one) => {
      const row = document.createElement("tr");
      row.append(text("th", sayDay(one.day)), text("td", withBounds(measure.unit, one)));
      row.firstElementChild?.setAttribute("scope", "row");
      return row;
    }),
  });
  const drawing = node.querySelector("[data-part=chart]");
  // Drawn when it is looked at.
  node.addEventListener("toggle", () => {
    if (drawing?.hasChildNodes()) return;
    const values = series.map(({ value }) => value);
    const ends = [Math.min(...values), Math.max(...values)].map((one) => inWords(measure.unit, one));
    const words = `${measure.name} by day, from ${ends[0]} to ${ends[1]}`;
    const fan = series.map(({ day, value, u }) => ({ day, low: value - 2 * u, kg: value, high: value + 2 * u }));
    drawing?.replaceChildren(
      chartNode({
        points: series.map(({ day, value }) => [day, value]),
        fan,
        nameOf: (at) => inWords(measure.unit, at),
        words,
      }),
    );
  });
  return node;
}
