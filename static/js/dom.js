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

/** The line drawing `build` ("square", "long", "tall", "short", "ring") with one part lit. */
export function figure(build, lit) {
  const drawing = clone(`figure-${build}`);
  for (const spot of /** @type {NodeListOf<SVGElement>} */ (drawing.querySelectorAll("[data-spot]"))) {
    spot.classList.toggle("lit", spot.dataset.spot === lit);
  }
  return drawing;
}

const RING = new Set(["down_and_back", "triangle", "go_round"]);
export const stationFigure = (build, station) => figure(RING.has(station) ? "ring" : build, station);

export const icon = (name) => clone(`icon-${name}`);

/** Say something to a screen reader without moving the focus. */
export function say(words) {
  const voice = inShell("voice");
  voice.textContent = "";
  requestAnimationFrame(() => {
    voice.textContent = words;
  });
}
