// The worker: keeps one build of the app whole on this device, and serves the app from it.
// An update is kept beside the running build and takes over only when the app says so, or when no
// window of the old build is open. Windows that were not asked go on with the old build, which is
// dropped once none of them can be left. Personal data is never in here.

// The server writes two lines before this one: BUILD, the id of the build, and FILES, what it is
// made of: [{url, sha256, type, later}].

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const PREFIX = "app-";
const CACHE = PREFIX + BUILD;
const ROOT = `/static/${BUILD}/`;
const AT_ONCE = 6;

worker.addEventListener("install", (event) => {
  event.waitUntil(keepAll());
  // Where the browser can read from the cache by itself, a start need not wait for this worker.
  const source = { cacheName: CACHE };
  event
    .addRoutes?.([
      { condition: { urlPattern: { pathname: "/" }, requestMode: "navigate" }, source },
      { condition: { urlPattern: { pathname: `${ROOT}*` }, requestMethod: "GET" }, source },
    ])
    .catch(() => {});
});

// The window of the first visit is taken in too: it may need more of the build than it has read.
worker.addEventListener("activate", (event) => event.waitUntil(Promise.all([dropOthers(1), worker.clients.claim()])));

worker.addEventListener("message", (event) => {
  if (event.data === "take-over") worker.skipWaiting();
  if (event.data === "opened") event.waitUntil(Promise.all([mend(), dropOthers(1)]));
});

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname === "/" && request.mode === "navigate") event.respondWith(kept("/"));
  else if (url.pathname.startsWith(ROOT)) event.respondWith(kept(url.pathname));
  else if (url.pathname.startsWith("/static/")) event.respondWith(another(request));
});

// All files or none: a build with a hole would fail where there is no signal to mend it. On a first
// visit all that a show needs or none: the signal may not last, and the rest is mended in.
async function keepAll() {
  const isFirst = !(await caches.keys()).some((name) => name.startsWith(PREFIX) && name !== CACHE);
  const waiting = FILES.filter(({ later }) => !(isFirst && later));
  const lane = async () => {
    try {
      for (let file = waiting.shift(); file; file = waiting.shift()) await keep(file);
    } catch (error) {
      waiting.length = 0;
      throw error;
    }
  };
  // All lanes come to their end first, or one of them would put a file back after the rest is gone.
  const ends = await Promise.allSettled(Array.from({ length: AT_ONCE }, lane));
  const failed = ends.find((end) => end.status === "rejected");
  if (!failed) return;
  await caches.delete(CACHE);
  throw failed.reason;
}

// An update changes few files: the others are taken over from an older build. A first visit has fetched
// most files a moment ago: what the browser holds of them will do, if it is what this build was made with.
async function keep(file) {
  const { headers, body } =
    (await older(file)) ?? (await checked(file, "default").catch(() => checked(file, "reload")));
  await (await caches.open(CACHE)).put(file.url, new Response(body, { headers }));
}

// The same file of another build that is kept here, or null.
async function older({ url, sha256 }) {
  for (const name of await caches.keys()) {
    if (!name.startsWith(PREFIX) || name === CACHE) continue;
    const there = url.replace(ROOT, `/static/${name.slice(PREFIX.length)}/`);
    const answer = await caches.match(there, { cacheName: name }).catch(() => null);
    const body = await answer?.arrayBuffer();
    if (answer && body && (await hashOf(body)) === sha256) return { headers: answer.headers, body };
  }
  return null;
}

async function checked({ url, sha256, type }, cache) {
  const answer = await fetch(url, { cache, credentials: "omit" });
  const sent = (answer.headers.get("Content-Type") ?? "").split(";")[0];
  if (answer.status !== 200 || answer.redirected || sent !== type) {
    throw new Error(`${url}: status ${answer.status}, type ${sent}`);
  }
  const body = await answer.arrayBuffer();
  if ((await hashOf(body)) !== sha256) throw new Error(`${url}: not the file this build was made with`);
  const headers = new Headers(answer.headers);
  headers.delete("Content-Encoding");
  headers.delete("Content-Length");
  return { headers, body };
}

async function hashOf(body) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
  return [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

// The system may clear caches: fill the holes, if the server still has this build.
async function mend() {
  const held = await (await caches.open(CACHE)).keys();
  const whole = new Set(held.map(({ url }) => new URL(url).pathname));
  await Promise.allSettled(FILES.filter(({ url }) => !whole.has(url)).map(keep));
}

// The builds before this one go, unless a window may run one of them (more windows are open than the
// one that asked for this build) or a next build is on its way.
async function dropOthers(asked) {
  const names = await caches.keys();
  const windows = await worker.clients.matchAll({ type: "window", includeUncontrolled: true });
  if (windows.length > asked || worker.registration.installing || worker.registration.waiting) return;
  const old = names.filter((name) => name.startsWith(PREFIX) && name !== CACHE);
  await Promise.all(old.map((name) => caches.delete(name)));
}

async function another(request) {
  return (await caches.match(request.url).catch(() => null)) ?? fetch(request);
}

async function kept(path) {
  const found = await caches.match(path, { cacheName: CACHE }).catch(() => null);
  return found ?? fetch(path, { credentials: "omit" });
}
