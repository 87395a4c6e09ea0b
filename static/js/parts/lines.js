// How lines of the card are worded and drawn, wherever they appear.

import { clone, fill, icon, text } from "../dom.js";

export const WEIGHTS = {
  disqualifying: { words: "Disqualifies", icon: "caution" },
  serious: { words: "Serious fault", icon: "missed" },
  fault: { words: "Fault", icon: "skipped" },
  required: { words: "Asked", icon: "asked" },
  preferred: { words: "Preferred", icon: "preferred" },
};

/** A source in words: body, title, number, date. */
export const sourceWords = (source) => `${source.body}: ${edition(source)}`;

/** The same for a heading: the body's short name where it has one. */
export const shortSource = (source) => `${source.of ?? source.body}: ${edition(source)}`;

/** A text in words: title, number, date. A number may be words, such as "as amended to 2014". */
export function edition({ title, number = "", date = "" }) {
  const shown = /^\d+$/.test(number) ? `no. ${number}` : number;
  return [title, title.includes(number) ? "" : shown, date].filter(Boolean).join(", ");
}

/** Where a line comes from: {name, words}. */
function provenance(card, line) {
  if (line.own) return { name: "Your own", words: "You wrote this. Nobody has checked it." };
  if (line.source === "common practice") {
    return { name: "Common practice", words: "What people do in the ring; no published source was read for it." };
  }
  if (line.source === "from memory")
    return { name: "From memory", words: "Written from memory. Look it up before you rely on it." };
  const source = card.sources[line.source];
  const read = line.read ?? source.read;
  const caveat = {
    memory: " Written from memory of that text.",
    secondary: " Read in a second-hand account of that text.",
  };
  const name = { memory: "from memory", secondary: "second-hand" }[read];
  const shown = source.of ?? source.body;
  return {
    name: name ? `${shown}, ${name}` : shown,
    words: `${sourceWords(source)}.${caveat[read] ?? ""} In our own words.`,
  };
}

/** One line with its mark, its weight in words, and its source one tap away.
    @param {{mark?: string, words: string, more?: string}} shown */
export function lineNode(card, line, shown) {
  const { name, words: whole } = provenance(card, line);
  const node = fill(clone("line"), {
    icon: shown.mark ? icon(shown.mark) : "",
    words: shown.words,
    more: shown.more || null,
    "source-name": name,
    "source-words": whole,
  });
  return node;
}

export function section(title, kind, lines) {
  const node = fill(clone("lines"), { title, list: lines });
  node.classList.add(kind);
  return node;
}

export const cautionLines = (card, station) =>
  station.cautions.map((line) => lineNode(card, line, { mark: "caution", words: line.text }));

/** What to take care of where nobody looks at the screen; `known` is the rules' part on practice. */
export const careSection = (card, known) =>
  section(
    "Take care",
    "care",
    known.care
      .filter(({ surface }) => !surface.length || surface.includes(card.surface))
      .map((line) => lineNode(known, line, { mark: "caution", words: line.text })),
  );

/** The asks in sections: what is asked first, then what disqualifies, then the faults. */
export function askSections(card, station) {
  return ASKED.map(([title, kind, weights]) => [
    title,
    kind,
    station.asks.filter((ask) => weights.includes(ask.weight)),
  ])
    .filter(([, , asks]) => asks.length)
    .map(([title, kind, asks]) => section(title, kind, askLines(card, { ...station, asks })));
}

// An ask without a weight is the handler's own.
const ASKED = [
  ["The standard asks", "asks", [undefined, "required", "preferred"]],
  ["Disqualifies", "asks", ["disqualifying"]],
  ["Faults", "asks", ["serious", "fault"]],
];

export function askLines(card, station) {
  return station.asks.map((ask) => {
    const weight = WEIGHTS[ask.weight] ?? { words: "Yours", icon: "preferred" };
    const point = ask.point && ask.point !== station.id ? `${POINTS[ask.point] ?? ask.point}: ` : "";
    const of = ask.of ? ` (${ask.of})` : "";
    const variety = ask.variety ? `${ask.variety}: ` : "";
    const words = [text("b", `${weight.words}${of}`), ` ${point}${variety}${ask.says}`];
    const node = lineNode(card, ask, { mark: weight.icon, words: "" });
    fill(node, { words });
    node.classList.add(`weight-${ask.weight ?? "own"}`);
    return node;
  });
}

const POINTS = {
  outline: "Outline",
  size: "Size",
  temperament: "Temperament",
  nose: "Nose",
  bite: "Bite",
  shoulders: "Shoulders",
  feet: "Feet",
  coat: "Coat",
  colour: "Colour",
  topline: "Topline",
  body: "Body",
  tail: "Tail",
  knees: "Knees",
  rear: "Rear",
  movement: "Movement",
};
