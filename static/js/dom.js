// The page's parts come from <template> elements and are filled with text: never with HTML.

/** A fresh copy of the first element in template `id`. */
export function clone(id) {
  const template = document.getElementById(id);
  if (!(template instanceof HTMLTemplateElement)) throw new Error(`There is no template ${id}.`);
  return /** @type {HTMLElement} */ (template.content.firstElementChild?.cloneNode(true));
}

/** An element that the shell has on every screen. */
export const inShell = (id) => /** @type {HTMLElement} */ (document.getElementById(id));

export const part = (root, name) => (root.dataset?.part === name ? root : root.querySelector(`[data-part="${name}"]`));

/** Fill parts of `root`: text, a list of nodes, a node, or false/null to take the part away. */
export function fill(root, parts) {
  for (const [name, content] of Object.entries(parts)) {
    const place = part(root, name);
    if (!place) throw new Error(`There is no part ${name}.`);
    if (content === null || content === false) place.remove();
    else if (Array.isArray(content)) place.replaceChildren(...content);
    else if (content instanceof Node) place.replaceChildren(content);
    else if (content !== true) place.textContent = content;
  }
  return root;
}

/** Call `act` when the part is clicked (a tap, a key, or a pen: whatever the browser calls so). */
export function on(root, name, act, type = "click") {
  part(root, name)?.addEventListener(type, act);
  return root;
}

export const text = (tag, words, className = "") => {
  const made = document.createElement(tag);
  made.textContent = words;
  if (className) made.className = className;
  return made;
};

/** @type {Promise<typeof import("./core/figure.js")> | undefined} */
let pen;

/**
 * The line drawing of a dog (core/figure.js tells of what parts) with one spot lit. Its place is
 * there at once; the lines come as soon as the pen is there, so no first paint waits for it.
 */
export function figure(parts, lit) {
  const drawing = clone("figure");
  pen ??= import("./core/figure.js");
  pen.then(
    ({ compose }) => inTurn(() => drawInto(drawing, compose(parts, lit), lit)),
    // Cut off on the very first visit: the next drawing asks anew.
    () => {
      pen = undefined;
    },
  );
  return drawing;
}

function drawInto(drawing, { under, lines, over }, lit) {
  const ink = layer(
    { class: "ink" },
    lines.map(([kind, d]) => ({ class: kind, d })),
  );
  drawing.replaceChildren(...lights(under, lit), ink, ...lights(over, lit));
}

// Milliseconds.
const TURN = 5;
const PAUSE = 10;
const waiting = [];

/** Draw what waits, a few milliseconds at a time: a list of dogs must not hold up a frame, a finger, or what
    is read meanwhile to be shown beside it. */
function inTurn(draw) {
  waiting.push(draw);
  if (waiting.length === 1) queueMicrotask(drawSome);
}

function drawSome() {
  const end = performance.now() + TURN;
  try {
    do waiting.shift()?.();
    while (waiting.length && performance.now() < end);
  } finally {
    if (waiting.length) setTimeout(drawSome, PAUSE);
  }
}

/** What each of these spots lights in the drawing of a dog, each a group by itself: for a drawing in which
    several are lit, or tapped. */
export async function spotLayers(parts, ids) {
  pen ??= import("./core/figure.js");
  const { compose } = await pen;
  return ids.flatMap((id) => lights(compose(parts, id).over, id));
}

/** {name: point, or points} of the places that a drawing of these parts is told by, in its own units. */
export async function anchorsOf(parts) {
  pen ??= import("./core/figure.js");
  const { compose } = await pen;
  return compose(parts).anchors;
}

const lights = (marks, lit) =>
  marks.length === 0
    ? []
    : [
        layer(
          { class: "lit", "data-spot": lit },
          marks.map(({ d, width = 8, fill = 0, opacity = 1 }) => ({
            d,
            "stroke-width": width,
            "stroke-opacity": width ? opacity : 0,
            fill: fill ? "currentColor" : "none",
            "fill-opacity": fill,
          })),
        ),
      ];

/** A group of paths, each given by its attributes. */
const layer = (attributes, paths) => {
  const group = drawn("g", { stroke: "currentColor", ...attributes });
  group.append(...paths.map((each) => drawn("path", each)));
  return group;
};

/** An element of a drawing. */
export function drawn(tag, attributes) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  return made;
}

const RING = new Set(["down_and_back", "triangle", "go_round"]);

/** The drawing for a station: the dog of these parts, or the ring in which it moves. */
export function stationFigure(parts, station) {
  if (!RING.has(station)) return figure(parts, station);
  const drawing = clone("figure-ring");
  drawing.querySelector(`[data-spot="${station}"]`)?.classList.add("lit");
  return drawing;
}

export const icon = (name) => clone(`icon-${name}`);

/** Say something to a screen reader without moving the focus. */
export function say(words) {
  const voice = inShell("voice");
  voice.textContent = "";
  requestAnimationFrame(() => {
    voice.textContent = words;
  });
}
