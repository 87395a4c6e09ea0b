// The service worker's other half: registering it, and taking up a new build only when that can
// harm nobody.

const HOUR = 60 * 60_000;
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
  navigator.standalone === true || matchMedia("(display-mode: standalone)").matches;

export async function start() {
  if (!("serviceWorker" in navigator)) return;
  try {
    registration = await navigator.serviceWorker.register(policy?.createScriptURL("/sw.js") ?? "/sw.js", {
      updateViaCache: "none",
    });
  } catch {
    return; // No worker: the app still works while the server is in reach.
  }
  looked = Date.now();
  if (registration.waiting) tell();
  registration.addEventListener("updatefound", () => {
    const coming = registration.installing;
    coming?.addEventListener("statechange", () => {
      if (coming.state === "installed" && navigator.serviceWorker.controller) tell();
    });
  });
  document.addEventListener("visibilitychange", () => {
    if (document.hidden || Date.now() - looked < HOUR) return;
    looked = Date.now();
    registration.update().catch(() => {});
  });
}

/** Take up the new build. Gives why not, if a card is open in any window. */
export async function takeUpdate() {
  const waiting = registration?.waiting;
  if (!waiting) return "There is no new version waiting.";
  const free = await noCardOpen();
  if (!free) return "A card is open. Finish or leave it first; the new version waits.";
  navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
  waiting.postMessage("take-over");
  return "";
}

async function noCardOpen() {
  if (!navigator.locks) return true;
  return navigator.locks.request("ringside-card", { ifAvailable: true }, (lock) => lock !== null);
}

/** Hold this while a card is open: no window may take up a new build meanwhile. Gives a release. */
export function holdCard() {
  let release = () => {};
  navigator.locks?.request(
    "ringside-card",
    { mode: "shared" },
    () =>
      new Promise((resolve) => {
        release = resolve;
      }),
  );
  return () => release();
}
