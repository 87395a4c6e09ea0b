// A drawing for each view of a dog that is photographed: the dog's own from its side, a plain one else.

import { anchorsOf, clone, drawn, figure } from "../dom.js";

// Half of a dog each, on the page of a figure (320 by 220); the other half is its mirror.
const HEAD =
  "M160 22C177 22 188 34 187 50C186 62 178 70 174 78C172 86 167 90 160 90M177 27C193 27 201 44 197 64C190 68 185 58 185 44M166 84C170 82 171 78 168 74H160M171 51h.2";
const FRONT =
  "M181 66C196 76 207 90 207 110C207 124 202 134 201 146L198 190C204 194 205 201 202 206H180C178 198 182 192 182 186L179 152C174 158 167 160 160 160M179 152C182 140 180 128 174 120";
const ABOVE =
  "M276 110C276 102 266 101 254 100C244 92 236 88 226 90C218 92 212 97 204 97C192 84 178 74 158 74C138 74 128 84 112 87C100 80 84 78 72 87C62 95 58 103 57 110M236 91C230 80 216 76 210 86C212 92 218 94 226 90M254 101V106";

const HALVES = {
  "head-front": { paths: [HEAD], across: true, by: "translate(160 112) scale(2.3) translate(-160 -57)" },
  front: { paths: [HEAD, FRONT], across: true, by: "" },
  above: { paths: [ABOVE], across: false, by: "", whole: "M57 110C42 104 34 116 20 110" },
};
// What is drawn around a head, as a share of it.
const AROUND = 0.45;
const SHAPE = 320 / 220;

/** The drawing for a view of a dog of these parts. */
export function viewDrawing(parts, view) {
  if (!Object.hasOwn(HALVES, view)) {
    const drawing = figure(parts, "");
    if (view === "head-side")
      anchorsOf(parts).then((/** @type {any} */ anchors) => drawing.setAttribute("viewBox", boxOf(anchors)));
    return drawing;
  }
  const { paths, across, by, whole } = HALVES[view];
  const half = () => paths.map((d) => drawn("path", { d, "vector-effect": "non-scaling-stroke" }));
  const mirror = drawn("g", { transform: across ? "matrix(-1 0 0 1 320 0)" : "matrix(1 0 0 -1 0 220)" });
  mirror.append(...half());
  const dog = drawn("g", { stroke: "currentColor", class: "half", ...(by && { transform: by }) });
  dog.append(...half(), mirror, ...(whole ? [drawn("path", { d: whole })] : []));
  const drawing = clone("figure");
  drawing.replaceChildren(dog);
  return drawing;
}

/** The part of the page that the head takes, with some neck. */
function boxOf({ head, throat, nape }) {
  const points = [...head, throat, nape];
  const [left, top] = [0, 1].map((axis) => Math.min(...points.map((point) => point[axis])));
  const [right, bottom] = [0, 1].map((axis) => Math.max(...points.map((point) => point[axis])));
  const high = Math.max(bottom - top, (right - left) / SHAPE) * (1 + AROUND);
  const wide = high * SHAPE;
  return [(left + right - wide) / 2, (top + bottom - high) / 2, wide, high].map(Math.round).join(" ");
}
