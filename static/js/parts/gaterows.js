// The rows of the gate check: what is wrong, what the finger ticks, what was looked up.

import { sentence } from "../core/says.js";
import { clone, fill, icon, on, part } from "../dom.js";
import { wordsAtHand } from "../shipped.js";
import { explainTerms } from "./terms.js";

const ICONS = { wrong: "missed", unknown: "open", right: "done" };
const DONE = { settle: "checked", "": "set aside" };

/** What a row in this state is called: "to do", "ready", ... */
export const stateWords = ({ state, group = "" }) => (state === "ready" ? (DONE[group] ?? "ready") : "to do");

/** How the rows are drawn: the table of sentences, where an act leads, and what taps do.
    @typedef {import("../core/gate.js").Point} Point
    @typedef {{ says: Record<string, string>, hrefs: Record<string, string>, mark: (point: Point, state: string,
      button: HTMLElement) => void, remove: (id: string, words: string) => void }} Ways */

/** A row with its tick; No and Why are behind it.
    @param {Point} point
    @param {Ways} ways */
export function rowNode(point, ways) {
  const words = sentence(ways.says, point.words);
  const isItem = point.group !== "settle" && point.group !== "";
  const node = fill(clone("gate-row"), {
    ...told(point, ways.says),
    words,
    more: icon("onward"),
    not: isItem ? "No" : null,
    remove: point.group === "own" ? "Remove this item" : null,
  });
  opens(node, point, `${isItem ? "No, or why" : "Why"}: ${words}`);
  acts(node, point, ways);
  part(node, "not")?.setAttribute("aria-label", `No: ${words}`);
  on(node, "tick", ({ currentTarget }) =>
    ways.mark(point, node.dataset.state === "ready" ? "open" : "ready", currentTarget),
  );
  on(node, "not", ({ currentTarget }) => ways.mark(point, "not ready", currentTarget));
  return on(node, "remove", () => ways.remove(point.id, words));
}

/** Draw the state of a row anew; gives the row.
    @param {HTMLElement} node
    @param {Point} point */
export function drawRow(node, point) {
  const { state, group } = point;
  if (node.dataset.state === state) return node;
  node.dataset.state = state;
  const open = group === "" ? "preferred" : "open";
  const ready = group === "" ? "skipped" : "done";
  fill(node, { icon: icon(state === "ready" ? ready : open), state: state === "ready" ? stateWords(point) : "" });
  part(node, "tick").setAttribute("aria-pressed", String(state === "ready"));
  return node;
}

/** What is wrong, and what mends it.
    @param {Point} point
    @param {Ways} ways */
export function wrongNode(point, ways) {
  const words = sentence(ways.says, point.words);
  const node = fill(clone("gate-wrong"), {
    ...told(point, ways.says),
    icon: icon(ICONS[point.state]),
    words,
    more: icon("onward"),
    ...(point.tick ? {} : { tick: null }),
  });
  node.dataset.state = point.state;
  opens(node, point, `Why: ${words}`);
  acts(node, point, ways);
  part(node, "tick")?.setAttribute("aria-label", `Ready now: ${words}`);
  return on(node, "tick", ({ currentTarget }) => ways.mark(point, "ready", currentTarget));
}

/** What was looked up and is in order.
    @param {Point} point
    @param {Ways} ways */
export function rightNode(point, { says }) {
  const { why, source } = told(point, says);
  return fill(clone("gate-right"), { icon: icon("done"), words: sentence(says, point.words), why, source });
}

const told = ({ remedy, why, source }, says) => ({
  remedy: sentence(says, remedy) || null,
  why: sentence(says, why) || null,
  source: sentence(says, source) || null,
});

function acts(node, { id, act }, { says, hrefs }) {
  node.dataset.item = id;
  if (act) fill(node, { act: sentence(says, act.words) });
  else fill(node, { act: null });
  if (act) part(node, "act").href = hrefs[act.to];
}

function opens(node, { id }, label) {
  const more = part(node, "more");
  const help = part(node, "help");
  help.id = `gate-help-${id}`;
  more.setAttribute("aria-label", label);
  more.setAttribute("aria-controls", help.id);
  more.addEventListener("click", () => {
    help.hidden = !help.hidden;
    more.setAttribute("aria-expanded", String(!help.hidden));
  });
  // The words of the trade are looked for when somebody asks why, and not before.
  const explained = async () => explainTerms(help, await wordsAtHand(), ["remedy", "why"]);
  more.addEventListener("click", explained, { once: true });
}
