// How ready a dog is, as it is drawn and said: a shape and a word for each state, a number for each
// station of the exam, dots for its last marks.

import { badgesOf } from "../core/badges.js";
import { ago } from "../core/words.js";
import { anchorsOf, drawn, figure } from "../dom.js";
import { GRADES } from "./rows.js";

export const STATES = { ready: "Ready", work: "Needs work", notyet: "Not yet", none: "No marks" };
const SHAPES = {
  ready: ["circle", { r: 15 }],
  work: ["path", { d: "M0-20 20 0 0 20-20 0z" }],
  notyet: ["path", { d: "M-15-15h30v30h-30z" }],
  none: ["circle", { r: 15 }],
};
const HEIGHTS = { easy: 6, "needs work": 15, "not yet": 24 };

function badge(state, number) {
  const [tag, form] = SHAPES[state];
  const group = drawn("g", { class: `badge ${state}` });
  const words = drawn("text", { "text-anchor": "middle", dy: "0.35em" });
  words.textContent = number || "";
  group.append(drawn(tag, form), words);
  return group;
}

/** A badge by itself, for a row. */
export function badgeIcon(state, number = "") {
  const made = drawn("svg", { class: "icon badge-icon", viewBox: "-22 -22 44 44", "aria-hidden": "true" });
  made.append(badge(state, number));
  return made;
}

/** The drawing of a dog with the stations of the exam around it: `rows` are [{id, state, number}]. */
export function standingDrawing(parts, rows) {
  const drawing = figure(parts, "");
  drawing.setAttribute("viewBox", "0 -40 320 300");
  anchorsOf(parts).then(
    (anchors) => {
      const ids = rows.map(({ id }) => id);
      for (const { id, at, to } of badgesOf(anchors, ids)) {
        const { state, number } = rows.find((row) => row.id === id);
        const made = badge(state, number);
        made.setAttribute("transform", `translate(${at.join(" ")})`);
        const lead = { class: "badge-lead", d: `M${at.join(" ")}L${to.join(" ")}` };
        drawing.append(
          drawn("path", lead),
          drawn("circle", { class: "badge-end", cx: to[0], cy: to[1], r: 3.5 }),
          made,
        );
      }
    },
    (error) => console.error(error),
  );
  return drawing;
}

/** The last marks of a station as dots, the newest at the end; high is easy. */
export function trend(last) {
  const made = drawn("svg", {
    class: "trend",
    viewBox: `0 0 ${14 * last.length} 30`,
    width: 14 * last.length,
    "aria-hidden": "true",
  });
  const shown = last.map(({ grade }, place) => [14 * place + 7, HEIGHTS[grade]]);
  made.append(
    drawn("path", { d: shown.map(([x, y], place) => `${place ? "L" : "M"}${x} ${y}`).join("") }),
    ...shown.map(([cx, cy]) => drawn("circle", { cx, cy, r: 4.5 })),
  );
  return made;
}

/** The same in words. */
export function trendWords(last) {
  if (!last.length) return "";
  const words = last.map(({ grade }) => GRADES[grade].words.toLowerCase());
  return `Last: ${words.join(", ")}; ${ago(last.at(-1).at)}.`;
}
