// How a thing to learn is asked, and what is said once it is answered: pure but for the chance it is
// given (`chance()` from 0 to 1).

import { handsAt, tellingAsks } from "./drill.js";
import { finderOf } from "./terms.js";

const CHOICES = 4;
const MEANINGS = 3;

/** The question of an item: {ask, words, options: [{id, words}], answer, reason, line}. `line` names
    the source; `answer` is the right option's id, or for an order the ids in order. Null where the
    card no longer has what the item asks. */
export function questionOf(item, card, terms, chance) {
  const stations = card.phases.flatMap((phase) => phase.stations);
  const here = stations.find((station) => station.id === item.station);
  if (!here && item.kind !== "order" && item.kind !== "word") return null;
  return ASKED[item.kind]?.({ item, card, terms, stations, here, chance }) ?? null;
}

const ASKED = {
  next: ({ item, stations, here, chance }) => {
    const next = stations.find((station) => station.id === item.next);
    return {
      ask: `After ${lower(here.name)}?`,
      options: stationOptions(next, stations, chance, here.id),
      answer: item.next,
      reason: `${here.name}, then ${lower(next.name)}: the usual order. A judge may choose another.`,
      line: { source: "common practice" },
    };
  },
  order: ({ item, card, chance }) => {
    const phase = card.phases.find(({ id }) => id === item.phase);
    if (!phase) return null;
    return {
      ask: `${phase.name}: tap in order`,
      options: shuffled(phase.stations, chance).map(({ id, name }) => ({ id, words: name })),
      answer: phase.stations.map(({ id }) => id),
      reason: `${phase.stations.map(({ name }) => name).join(", ")}: the usual order. A judge may choose another.`,
      line: { source: "common practice" },
    };
  },
  hands: ({ stations, here, chance }) => {
    const cue = handsAt(here);
    if (!cue) return null;
    return {
      ask: "At which station?",
      words: `Your hands: ${lower(cue.do)}`,
      ...station(here, stations, chance, cue.why, cue),
    };
  },
  looks: ({ stations, here, chance }) => ({
    ask: "At which station?",
    words: `The judge: ${lower(here.looks)}`,
    ...station(here, stations, chance, "", here),
  }),
  ask: ({ stations, here, terms, chance }) => {
    const asks = tellingAsks(here, finderOf(terms, true));
    if (!asks.length) return null;
    const asked = asks[Math.floor(chance() * asks.length)];
    const point = asked.point && asked.point !== here.id ? `${asked.point}: ` : "";
    const words = `The standard: ${point}${asked.says}`;
    return { ask: "At which station?", words, ...station(here, stations, chance, "", asked) };
  },
  place: ({ here }) => ({
    ask: `Tap the ${lower(here.name)} on the drawing`,
    options: [],
    answer: here.id,
    reason: `${here.name}: ${lower(here.looks)}`,
    line: here,
  }),
  word: ({ item, terms, chance }) => {
    const { term } = item;
    const near = shuffled(terms, chance).sort((one, other) => isOf(other, term) - isOf(one, term));
    const others = near.filter(({ id }) => id !== term.id && !term.see?.includes(id)).slice(0, MEANINGS - 1);
    return {
      ask: `What is “${term.name}”?`,
      options: shuffled([term, ...others], chance).map(({ id, says }) => ({ id, words: says })),
      answer: term.id,
      reason: [`${upper(term.name)}: ${lower(term.says)}`, term.care].filter(Boolean).join(" "),
      line: term,
    };
  },
};

const isOf = (one, other) => Number(one.station === other.station);

function station(here, stations, chance, why, line) {
  const reason = [`${here.name}.`, why].filter(Boolean).join(" ");
  return { options: stationOptions(here, stations, chance), answer: here.id, reason, line };
}

// The others of the same phase are the likely mistakes.
function stationOptions(right, stations, chance, without = "") {
  const others = stations.filter(({ id }) => id !== right.id && id !== without);
  const near = shuffled(others, chance).sort((one, other) => inPhase(other, right) - inPhase(one, right));
  return shuffled([right, ...near.slice(0, CHOICES - 1)], chance).map(({ id, name }) => ({ id, words: name }));
}

const inPhase = (one, other) => Number(one.phase === other.phase);
const upper = (words) => words.charAt(0).toUpperCase() + words.slice(1);
const lower = (words) => words.charAt(0).toLowerCase() + words.slice(1);

function shuffled(list, chance) {
  const found = [...list];
  for (let at = found.length - 1; at > 0; at -= 1) {
    const other = Math.floor(chance() * (at + 1));
    [found[at], found[other]] = [found[other], found[at]];
  }
  return found;
}

/** Half of the wrong options of a question, at the least one: what a hint takes away. */
export function hintOf({ options, answer }) {
  const wrong = options.filter(({ id }) => id !== answer);
  return wrong.slice(0, Math.ceil(wrong.length / 2)).map(({ id }) => id);
}
