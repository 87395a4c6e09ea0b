// What a dog will weigh on the day of its next show, or why that cannot be said: words, a chart, a table.

import { fan, outlook, seriesOf } from "../core/condition.js";
import { addDays, sayDay } from "../core/days.js";
import { inUnit, tidy } from "../core/limits.js";
import { sentence } from "../core/says.js";
import { clone, fill, icon, text } from "../dom.js";
import { chartNode } from "./chart.js";

const MARKS = { within: "done", over: "missed", under: "missed", open: "caution" };
const DRAWN = 26 * 7; // days
const SAID = { low: "at least", high: "at most" };

/** The section, of a dog's whole weighings and what is known of it.
    @param {{says: any, weighings: any[], next: any, born?: string, state?: string, score?: number,
      limits: any[]}} about `next` is what nextShow gives, `limits` are of its body */
export function onDayNode({ says, weighings, next, born, state, score, limits }) {
  const unit = weighings[0]?.unit ?? "kg";
  const told = outlook(weighings, { show: next?.day ?? null, born, state, score, limits });
  const weights = limits.filter(({ what }) => what === "weight");
  const words = told.forecast ? rangeWords(says, told.forecast, unit) : "";
  const shown = [
    ...told.limits.map((how, place) => row(MARKS[how], sentence(says, { says: how, of: weights[place].of }))),
    ...told.flags.map((flag) => row("caution", sentence(says, flag))),
    ...(told.target ? [row("caution", sentence(says, told.target.words))] : []),
  ];
  const series = seriesOf(weighings);
  return fill(clone("on-day"), {
    title: next ? `${next.show.name ?? "The show"}, ${sayDay(next.day)}` : "On the day",
    will: words || null,
    sure: words ? sentence(says, { says: "how-sure" }) : null,
    why: told.why ? sentence(says, told.why) : null,
    told: shown,
    chart: series.length > 1 ? drawing({ series, weighings, told, weights, unit, words, next }) : null,
    "table-part": series.length ? tableNode(series, told.forecast, next, unit) : null,
  });
}

function rangeWords(says, { kg, half }, unit) {
  const [low, middle, high] = [kg - half, kg, kg + half].map((one) => tidy(inUnit(one, "kg", unit)));
  return low === high
    ? sentence(says, { says: "will-weigh-about", kg: middle, unit })
    : sentence(says, { says: "will-weigh", low, high, unit });
}

function row(mark, words) {
  return fill(clone("told-row"), { icon: icon(mark), words });
}

/** The weights of the last half year, with limits that are near enough to be seen beside them. */
function drawing({ series, weighings, told, weights, unit, words, next }) {
  const first = addDays(series[series.length - 1].day, -DRAWN);
  const inSight = series.filter(({ day }) => day >= first);
  const to = (kg) => inUnit(kg, "kg", unit);
  const points = inSight.map(({ day, kg }) => [day, to(kg)]);
  const ahead = told.forecast
    ? fan(weighings, told.forecast).map((one) => ({
        day: one.day,
        low: to(one.low),
        kg: to(one.kg),
        high: to(one.high),
      }))
    : [];
  const lines = weights.flatMap((limit) =>
    Object.keys(SAID)
      .filter((end) => limit[end] != null)
      .map((end) => ({
        value: inUnit(limit[end], limit.unit, unit),
        words: `${limit.of}: ${SAID[end]} ${limit[end]} ${limit.unit}`,
      })),
  );
  const near = lines.filter(({ value }) => points.some(([, one]) => Math.abs(one - value) < one / 4));
  const [from, until] = [inSight[0].day, inSight[inSight.length - 1].day].map(sayDay);
  const all = points.map(([, value]) => value);
  const range = `${tidy(Math.min(...all))} to ${tidy(Math.max(...all))} ${unit}`;
  return chart({
    points,
    fan: ahead,
    limits: near,
    target: told.target?.kg ? to(told.target.kg) : null,
    words: [
      `Weight from ${from} to ${until}: ${range}.`,
      words && `Forecast for ${sayDay(next.day)}: ${words}.`,
      ...near.map((line) => `${line.words}.`),
    ]
      .filter(Boolean)
      .join(" "),
  });
}

function chart(told) {
  const figure = fill(clone("chart"), { drawing: chartNode(told) });
  return told.fan.length ? figure : fill(figure, { forecast: null });
}

function tableNode(series, forecast, next, unit) {
  const shown = (kg) => `${tidy(inUnit(kg, "kg", unit))} ${unit}`;
  const rows = series.map(({ day, kg }, place) => {
    const before = series[place - 1];
    return [sayDay(day), shown(kg), before ? percentWords((kg / before.kg - 1) * 100) : "–"];
  });
  if (forecast) {
    const { kg, half } = forecast;
    const ends = `${tidy(inUnit(kg - half, "kg", unit))} to ${shown(kg + half)}`;
    rows.push([`${sayDay(next.day)}, forecast`, ends, "–"]);
  }
  return fill(clone("weights"), { rows: rows.reverse().map(rowNode) });
}

const percentWords = (percent) => `${percent < 0 ? "−" : "+"}${Math.abs(percent).toFixed(1)} %`;

function rowNode(cells) {
  const made = document.createElement("tr");
  made.append(...cells.map((words, place) => text(place ? "td" : "th", words)));
  made.firstElementChild?.setAttribute("scope", "row");
  return made;
}
