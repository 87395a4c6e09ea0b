// The app as it is installed on this device: the offer to install it, its service worker, and taking
// up a new build only when that can harm nobody.

const HOUR = 60 * 60_000;
const CARD = "ringside-card";
const policy = globalThis.trustedTypes?.createPolicy("ringside", {
  createScriptURL: (url) => {
    if (url !== "/sw.js") throw new TypeError("Only our own worker may be started.");
    return url;
  },
});

const heard = new Set();
let registration = null;
let looked = 0;
let prompt = null;

/** Tell `listener` when a new build is ready, or when the app can be installed. */
export function onNews(listener) {
  heard.add(listener);
  return () => heard.delete(listener);
}

const tell = () => {
  for (const listener of heard) listener();
};

export const updateReady = () => Boolean(registration?.waiting);
export const canInstall = () => Boolean(prompt);

addEventListener("beforeinstallprompt", (event) => {
  event.preventDefault();
  prompt = event;
  tell();
});

export async function install() {
  await prompt?.prompt();
  prompt = null;
  tell();
}

export const isInstalled = () =>
  ("standalone" in navigator && navigator.standalone === true) || matchMedia("(display-mode: standalone)").matches;

export const isTabOnApple = () => /iPhone|iPad/.test(navigator.userAgent) && !isInstalled();

export async function start() {
  if (!("serviceWorker" in navigator)) return;
  try {
    registration = await navigator.serviceWorker.register(policy?.createScriptURL("/sw.js") ?? "/sw.js", {
      updateViaCache: "none",
    });
  } catch {
    return; // No worker: the app still works while the server is in reach.
  }
  if (registration.waiting) tell();
  // Opening the app makes the browser look for a new build; it may be on its way already.
  follow();
  registration.addEventListener("updatefound", follow);
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden && Date.now() - looked >= HOUR) look();
  });
  if (registration.active) await look();
}

function follow() {
  const coming = registration.installing;
  coming?.addEventListener("statechange", () => {
    if (coming.state === "installed" && registration.active) tell();
  });
}

async function look() {
  looked = Date.now();
  try {
    await registration.update();
  } catch {
    await bury();
  }
}

/** A server that keeps a book but serves no worker any more has given it up: let it go, or this
    build would stay for ever. Anything else at this address, or nothing, is no reason. */
async function bury() {
  const ask = (path) => fetch(path, { cache: "no-store" });
  try {
    const { status } = await ask("/sw.js");
    if (status !== 404 && status !== 410) return;
    const session = await ask("/api/session");
    if (session.ok && (await session.json()).book) await registration.unregister();
  } catch {
    // Out of reach.
  }
}

/** Take up the new build. Gives why not, if a card is open in any window. */
export async function takeUpdate() {
  const waiting = registration?.waiting;
  if (!waiting) return "There is no new version.";
  const free = await noCardOpen();
  if (!free) return "A card is open. Finish or leave it, then update.";
  waiting.addEventListener("statechange", () => {
    if (waiting.state === "activated") reloadWhenFree();
  });
  waiting.postMessage("take-over");
  return "";
}

async function noCardOpen() {
  if (!navigator.locks) return true;
  return navigator.locks.request(CARD, { ifAvailable: true }, (lock) => lock !== null);
}

// A card may have been opened since: the reload waits until it is left.
function reloadWhenFree() {
  if (!navigator.locks) return location.reload();
  return navigator.locks.request(CARD, () => location.reload());
}

/** Hold this while a card is open: no window may take up a new build meanwhile. Gives a release. */
export function holdCard() {
  /** @type {(value?: any) => void} */
  let release = () => {};
  const left = new Promise((resolve) => {
    release = resolve;
  });
  navigator.locks?.request(CARD, { mode: "shared" }, () => left).catch(() => {});
  return release;
}
