// Where a walk through the card stands: pure functions of the card, the walk and its ticks.

import { held } from "./held.js";

/** Put the handler's own order, cues and asks on a card; as ringside/domain/exam.py `personalise`. */
export function personalise(card, own) {
  const rank = new Map(own.order.map((station, place) => [station, place]));
  const place = (station) => rank.get(station.id) ?? own.order.length;
  const phases = card.phases.map((phase) => ({
    ...phase,
    stations: phase.stations.map((station) => withOwn(station, own)).sort((one, other) => place(one) - place(other)),
  }));
  return { ...card, phases };
}

function withOwn(station, own) {
  const cues = (held(own.cues, station.id) ?? []).map((line) => ({ headline: line, do: line, own: true }));
  const asks = (held(own.asks, station.id) ?? []).map((line) => ({ says: line, own: true }));
  return { ...station, cues: [...cues, ...station.cues], asks: [...asks, ...station.asks] };
}

/** Leave out the lines for puppies once `today` has reached the day that the card names. */
export function asOf(card, today) {
  const isPuppy = Boolean(card.puppy_until) && today < card.puppy_until;
  const holds = (line) => isPuppy || !line.puppy;
  const phases = card.phases.map((phase) => ({
    ...phase,
    stations: phase.stations.map((station) => ({
      ...station,
      cues: station.cues.filter(holds),
      cautions: station.cautions.filter(holds),
    })),
  }));
  return { ...card, phases };
}

/** The line that leads a station: the handler's own, else the first with a headline. */
export const headline = (station) => station.cues.find((cue) => cue.headline)?.headline ?? station.name;

/** A station's number, the same on every screen: within its phase, "Hands-on exam 4/9". */
export function placeWords(card, id) {
  const phase = card.phases.find(({ stations }) => stations.some((station) => station.id === id));
  const number = phase.stations.findIndex((station) => station.id === id) + 1;
  return `${phase.name} ${number}/${phase.stations.length}`;
}

/** The steps of a walk: each station, and after each phase its end. */
export function steps(card) {
  return card.phases.flatMap((phase) => [
    ...phase.stations.map((station) => ({ id: station.id, station, phase })),
    { id: `end-of-${phase.id}`, phase, isEnd: true },
  ]);
}

/** Whether a tick counts among `all` steps: a half one, or one of a station that is not there, does not. */
export const isTickOf = (all, tick) => Boolean(tick.state && tick.at) && all.some((step) => step.id === tick.station);

/** {station: state} of a walk's ticks: the newest tick of a station counts. */
export function states(ticks) {
  const newest = [...ticks].sort((one, other) => (one.at < other.at ? -1 : 1));
  return Object.fromEntries(newest.map((tick) => [tick.station, tick.state]));
}

export const settled = (state) => state === "done" || state === "skipped";

/** What the screen needs of step `place` of a walk: {step, next, number, of, left, missed, ...}.
    `next` passes over what is settled, so that after going back one returns to where one was. */
export function position(all, place, byStation) {
  const found = all.findIndex((step) => step.id === place);
  const index = found < 0 ? 0 : found;
  const step = all[index];
  const here = all.filter((other) => other.phase.id === step.phase.id && !other.isEnd);
  const passed = step.isEnd ? here : here.slice(0, here.indexOf(step));
  return {
    index,
    step,
    next: all.slice(index + 1).find((other) => other.isEnd || !settled(byStation[other.id])) ?? null,
    number: step.isEnd ? here.length : here.indexOf(step) + 1,
    of: here.length,
    here,
    left: here.filter((other) => !settled(byStation[other.id])).length,
    done: here.filter((other) => byStation[other.id] === "done").length,
    missed: passed.filter((other) => !settled(byStation[other.id])),
  };
}

/** How `step` stands, seen from where the walk is (`at`): "here", "done", "skipped", "missed" or "open". */
export function stateOf(all, step, at, byStation) {
  if (step === at.step) return "here";
  const state = byStation[step.id];
  if (settled(state)) return state;
  return all.indexOf(step) < at.index ? "missed" : "open";
}

/** What was done or skipped last, of a walk's ticks; null for nothing. */
export const lastSettled = (ticks) =>
  ticks.filter((tick) => settled(tick.state)).sort((one, other) => (one.at < other.at ? 1 : -1))[0] ?? null;

/** What leads the one line of the standard: its body, where that is not the card's. */
export const askedBy = (station) => (station.glanceOf ? `${station.glanceOf} asks:` : "Asked:");

/** A station in one sentence, for who does not see the card: its name, what the hands do, what is asked. */
export const sentence = (station) =>
  `${station.name}: ${headline(station)}${station.glance ? `; ${askedBy(station).replace("Asked", "asked")} ${station.glance}` : ""}.`;

const LEFT_ALONE = 12 * 60 * 60_000;

/** Whether a walk is over at `now` (ms): it was finished, or nobody touched it since `touched` (an
    instant) for twelve hours. */
export const isOver = (walk, touched, now) => Boolean(walk.ended) || now - Date.parse(touched) >= LEFT_ALONE;

/** The address of a walk by its values: one by ear has a screen of its own. */
export function pathOf(id, { mode, ear }) {
  if (mode === "ring") return `ring/${id}`;
  return `${ear ? "ear" : "rehearsal"}/${id}`;
}
