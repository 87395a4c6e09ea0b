// The worker: keeps one build of the app whole on this device, and serves the app from it.
// An update is kept beside the running build and takes over only when the app says so, or when no
// window of the old build is open. Personal data is never in here.

const BUILD = "{{ build }}";
const FILES = {{ files | safe }};

const PREFIX = "app-";
const CACHE = PREFIX + BUILD;
const ROOT = `/static/${BUILD}/`;
const AT_ONCE = 6;

self.addEventListener("install", (event) => event.waitUntil(keepAll()));

self.addEventListener("activate", (event) => event.waitUntil(dropOthers()));

self.addEventListener("message", (event) => {
  if (event.data === "take-over") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname === "/" && request.mode === "navigate") event.respondWith(kept("/"));
  else if (url.pathname.startsWith(ROOT)) event.respondWith(kept(url.pathname));
});

// All files or none: a build with a hole would fail where there is no signal to mend it.
async function keepAll() {
  const waiting = [...FILES];
  const lane = async () => {
    for (let file = waiting.shift(); file; file = waiting.shift()) await keep(file);
  };
  try {
    await Promise.all(Array.from({ length: AT_ONCE }, lane));
  } catch (error) {
    await caches.delete(CACHE);
    throw error;
  }
}

async function keep({ url, sha256, type }) {
  const answer = await fetch(url, { cache: "reload", credentials: "omit" });
  const sent = (answer.headers.get("Content-Type") ?? "").split(";")[0];
  if (answer.status !== 200 || answer.redirected || sent !== type) {
    throw new Error(`${url}: status ${answer.status}, type ${sent}`);
  }
  const body = await answer.arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
  const hex = [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  if (hex !== sha256) throw new Error(`${url}: not the file this build was made with`);
  const headers = new Headers(answer.headers);
  headers.delete("Content-Encoding");
  headers.delete("Content-Length");
  await (await caches.open(CACHE)).put(url, new Response(body, { headers }));
}

async function dropOthers() {
  const names = await caches.keys();
  const old = names.filter((name) => name.startsWith(PREFIX) && name !== CACHE);
  await Promise.all(old.map((name) => caches.delete(name)));
}

async function kept(path) {
  const found = await caches.match(path, { cacheName: CACHE });
  if (found) return found;
  // A hole (the system may clear caches): mend it if the server still has this build.
  const file = FILES.find(({ url }) => url === path);
  if (file) {
    try {
      await keep(file);
      return await caches.match(path, { cacheName: CACHE });
    } catch {
      // Out of reach, or another build by now: let the network answer for itself.
    }
  }
  return fetch(path, { credentials: "omit" });
}
