// The drawing as something to tap: which place of the dog was meant.

import { say, stationFigure } from "../dom.js";

const FINGER = 12; // units of the drawing around a place that still count as it

/** A drawing whose places `stations` can be tapped: `chosen(all)` gets the ids of what lies under the
    finger, the smallest first, or the nearest. With keys, arrows light one place after the other and
    Enter takes it. */
export function tapDrawing(node, build, stations, chosen) {
  const drawing = stationFigure(build, "");
  const spots = stations.map((id) => drawing.querySelector(`[data-spot="${id}"]`)).filter(Boolean);
  let lit = -1;
  node.replaceChildren(drawing);
  node.addEventListener("click", (event) => {
    if (event.detail === 0) return lit >= 0 && chosen([spots[lit].dataset.spot]);
    chosen(under(drawing, spots, event));
  });
  node.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (!step) return;
    event.preventDefault();
    lit = (lit + step + spots.length) % spots.length;
    light(drawing, [spots[lit].dataset.spot]);
    say(`Place ${lit + 1} of ${spots.length}.`);
  });
  return drawing;
}

/** Light these places of a drawing and no other. */
export function light(drawing, ids) {
  for (const spot of drawing.querySelectorAll("[data-spot]"))
    spot.classList.toggle("lit", ids.includes(spot.dataset.spot));
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
