// Which screen is open: the part of the address behind the #. A view is a function of the
// parameters in it that gives a screen, or null for what is gone.

/** A screen: `live` is drawn anew when the store changes, or `refresh` is called in its place; `alone`
    takes the whole window; `shown` and `leave` are called as it comes and goes.
    @typedef {{node: Node, title: string, live?: boolean, alone?: boolean, refresh?: () => void,
      shown?: () => void, leave?: () => void}} Screen
    @typedef {(parameters: any) => Promise<Screen | null>} View */

import { clone, fill, icon, inShell } from "./dom.js";
import { onChange } from "./store.js";

/** @type {{matches: RegExp, names: string[], view: View}[]} */
const routes = [];
const WIDE = matchMedia("(min-width: 1000px)");
const EDITABLE = "input:not([type=radio]):not([type=checkbox]), textarea, select";

/** @type {Screen | null} */
let open = null;
let turn = 0;
let address = ""; // of the screen that is open, or on its way
/** @type {(() => Promise<void>)[]} */
let further = [];
/** @type {(path: string) => Promise<Node>} */
let sideFor;

/** Add `{pattern: view}`. "dog/new" goes before "dog/:id", whichever was added first.
    @param {Record<string, View>} views */
export function addRoutes(views) {
  for (const [pattern, view] of Object.entries(views)) {
    const names = [];
    const source = pattern.replace(/:(\w+)/g, (_, name) => {
      names.push(name);
      return "([^/]+)";
    });
    routes.push({ matches: new RegExp(`^${source}$`), names, view });
  }
  routes.sort((one, other) => one.names.length - other.names.length);
}

export const go = (path) => {
  location.hash = `#/${path}`;
};

/** Leave this screen for another without keeping it in the history. */
export const goInstead = (path) => location.replace(`#/${path}`);

/** Show the first screen, then load others with the first of `loads`; with the next when an address
    asks for more than those. `drawnBeside(path)` gives what stands at the side of a wide window.
    @param {(path: string) => Promise<Node>} drawnBeside
    @param {(() => Promise<void>)[]} loads */
export async function start(drawnBeside, loads) {
  sideFor = drawnBeside;
  further = loads;
  addEventListener("hashchange", () => show());
  // The kennel is the side of a wide window, and the first screen of a narrow one.
  WIDE.addEventListener("change", () => (path() ? drawSide() : show()));
  onChange(() => refresh());
  await show();
  await further[0]();
}

function path() {
  const written = location.hash.replace(/^#\/?/, "");
  try {
    return decodeURIComponent(written);
  } catch {
    return written; // cut off in the middle of a letter
  }
}

async function show() {
  const mine = ++turn;
  address = path();
  const view = await made(address);
  if (mine !== turn) return view.leave?.();
  open?.leave?.();
  open = view;
  document.title = view.title ? `${view.title} · Ringside` : "Ringside";
  document.body.classList.toggle("alone", Boolean(view.alone));
  const main = inShell("main");
  if (main.firstElementChild !== view.node) main.replaceChildren(view.node);
  scrollTo(0, 0);
  if (mine > 1) main.focus({ preventScroll: true });
  view.shown?.();
  await drawSide();
}

/** @returns {(() => Promise<Screen | null>) | null} */
function found(wanted) {
  for (const { matches, names, view } of routes) {
    const values = wanted.match(matches)?.slice(1);
    if (values) return () => view(Object.fromEntries(names.map((name, place) => [name, values[place]])));
  }
  return null;
}

/** @returns {Promise<Screen>} */
async function made(wanted) {
  try {
    let view = found(wanted);
    for (const load of view ? [] : further) {
      await load();
      view = found(wanted);
      if (view) break;
    }
    if (!view) return lost("No such page", "There is nothing at this address.");
    return (
      (await view()) ?? lost("Not here", "This is no longer in the book. It may have been removed on another phone.")
    );
  } catch (error) {
    console.error(error);
    return lost("That did not work", trouble(error));
  }
}

/** Why the app cannot go on, in words that say what to do. */
export function trouble(error) {
  if (error?.name === "QuotaExceededError") {
    return "This phone is full. Free some space, then open Ringside again. Nothing you saved is lost.";
  }
  if (["SecurityError", "NotAllowedError", "InvalidStateError", "UnknownError", "AbortError"].includes(error?.name)) {
    return "This browser does not let Ringside save anything. Leave private browsing, or allow site data for this address, and open Ringside again.";
  }
  return `${error?.message ?? error} Open Ringside again. What you saved is still here.`;
}

function lost(title, words) {
  const node = fill(clone("lost"), { back: icon("back"), title, words });
  return { node, title };
}

const SOON = 30;
const AT_MOST_EVERY = 300;
let refreshing = null;
let refreshed = 0;

/** Draw anew, soon, what the open screen and the side show: a few times a second while a whole book
    arrives, and not with each page of it. */
export function refresh() {
  clearTimeout(refreshing);
  const wait = Math.max(SOON, refreshed + AT_MOST_EVERY - performance.now());
  refreshing = setTimeout(async () => {
    refreshed = performance.now();
    if (open?.refresh) open.refresh();
    else if (open?.live && !busy()) await redraw();
    await drawSide();
  }, wait);
}

// Nothing is redrawn under somebody's fingers; what was put off is drawn when they are lifted.
let isPressed = false;
addEventListener("pointerdown", () => (isPressed = true), true);
for (const end of ["pointerup", "pointercancel"]) {
  addEventListener(
    end,
    () =>
      setTimeout(() => {
        isPressed = false;
        if (isPutOff) refresh();
      }, 50),
    true,
  );
}

let isPutOff = false;
const busy = () => (isPutOff = isPressed || (document.activeElement?.matches(EDITABLE) ?? false));

async function redraw() {
  const mine = turn;
  // Where the window has left for another screen by now, that comes in a moment.
  const isLeft = () => mine !== turn || path() !== address;
  if (isLeft()) return;
  const view = await made(address);
  // A finger may have come down while all was read: what it is on must be there when it is lifted.
  if (isLeft() || busy()) return view.leave?.();
  const place = scrollY;
  const focused = keyOf(document.activeElement);
  const unfolded = new Set(
    folds()
      .filter(([fold]) => fold.open)
      .map(([, key]) => key),
  );
  open?.leave?.();
  open = view;
  inShell("main").replaceChildren(view.node);
  for (const [fold, key] of folds()) fold.open ||= unfolded.has(key);
  scrollTo(0, place);
  if (focused) /** @type {HTMLElement | null} */ (document.querySelector(focused))?.focus({ preventScroll: true });
}

/** What can be unfolded, each with what it is known by when it is drawn anew.
    @returns {[HTMLDetailsElement, string][]} */
const folds = () =>
  [...inShell("main").querySelectorAll("details")].map((fold, number) => [
    fold,
    `${number} ${fold.querySelector("summary")?.textContent}`,
  ]);

function keyOf(element) {
  if (!element || element === document.body || !element.closest("#main")) return "";
  const href = element.getAttribute("href");
  if (href) return `#main a[href="${CSS.escape(href)}"]`;
  return element.dataset.part ? `#main [data-part="${element.dataset.part}"]` : "";
}

/** On a wide window the kennel stands beside whatever is open. */
async function drawSide() {
  const side = inShell("side");
  side.hidden = !WIDE.matches || Boolean(open?.alone);
  document.body.classList.toggle("with-side", !side.hidden);
  if (side.hidden) return side.replaceChildren();
  try {
    const drawn = await sideFor(path());
    if (isPressed && side.hasChildNodes()) isPutOff = true;
    else side.replaceChildren(drawn);
  } catch (error) {
    console.error(error);
    side.replaceChildren(lost("That did not work", trouble(error)).node);
  }
}
