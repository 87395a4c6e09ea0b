// The drawing with several places of the dog: lit, or to be tapped.

import { figure, say, spotLayers } from "../dom.js";

const FINGER = 12; // units of the drawing around a place that still count as it

/** The drawing of a dog with the places of these stations, none lit yet. The lines, and the places, come
    when the pen is there (dom.js); `ready` is called then. */
export function placedDrawing(parts, stations, ready = () => {}) {
  const drawing = figure(parts, "");
  spotLayers(parts, stations).then(
    (layers) => {
      drawing.append(...layers);
      light(drawing, []);
      ready();
    },
    (error) => console.error(error),
  );
  return drawing;
}

/** Light these places of a drawing and no other. */
export function light(drawing, ids) {
  for (const spot of drawing.querySelectorAll("[data-spot]"))
    spot.classList.toggle("lit", ids.includes(spot.dataset.spot));
}

/** Put into `node` a drawing whose places can be tapped: `chosen(ids)` gets what lies under the finger,
    the smallest first, or the nearest. With keys, arrows light one place after the other and Enter takes it. */
export function tapDrawing(node, parts, stations, chosen) {
  const drawing = placedDrawing(parts, stations);
  /** @type {() => SVGGElement[]} */
  const spots = () => [...drawing.querySelectorAll("[data-spot]")].map((spot) => /** @type {SVGGElement} */ (spot));
  let lit = -1;
  node.replaceChildren(drawing);
  node.addEventListener("click", (event) => {
    if (event.detail > 0) chosen(under(drawing, spots(), event));
    else if (lit >= 0) chosen([spots()[lit].dataset.spot]);
  });
  node.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    const all = spots();
    if (!step || !all.length) return;
    event.preventDefault();
    lit = (Math.max(lit, step < 0 ? 0 : -1) + step + all.length) % all.length;
    light(drawing, [all[lit].dataset.spot]);
    say(`Place ${lit + 1} of ${all.length}.`);
  });
  return drawing;
}

function under(drawing, spots, { clientX, clientY }) {
  const point = new DOMPoint(clientX, clientY).matrixTransform(drawing.getScreenCTM().inverse());
  const found = spots.map((spot) => {
    const { x, y, width, height } = spot.getBBox();
    const off = Math.hypot(outside(point.x, x, x + width), outside(point.y, y, y + height));
    return { id: spot.dataset.spot, off, size: width * height };
  });
  const touched = found.filter(({ off }) => off <= FINGER).sort((one, other) => one.size - other.size);
  const nearest = found.sort((one, other) => one.off - other.off).slice(0, 1);
  return (touched.length ? touched : nearest).map(({ id }) => id);
}

const outside = (at, from, to) => Math.max(from - at, 0, at - to);
