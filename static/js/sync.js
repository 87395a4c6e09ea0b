// When to sync, and how an exchange runs. One window at a time; the outbox is the truth, so any of
// this may be cut off at any moment and is simply done again.

import { get, pair, post, put, Unreachable } from "./api.js";
import { linkFailed, linkSize, linkTook } from "./link.js";
import * as store from "./store.js";
import { answerNudge, answerPairing, answerPhotos, met, reached, SKEW_TOLD } from "./syncstate.js";

const SOON = 1_200;
const SHORTEST = 1_000;
const LONGEST = 5 * 60_000;
const REGULAR = 60_000;
const PROTOCOL = 1;
// What a link is to carry at once before it is given photos as well.
const FIT_FOR_PHOTOS = 24_000;

let running = false;
let wanted = false;
let timer = null;
let due = Infinity;
let failures = 0;

export function start() {
  store.onChange(() => soon());
  addEventListener("online", () => soon(0));
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) soon(0);
  });
  answerNudge(() => soon(0));
  answerPairing(letIn);
  answerPhotos({
    get: (sha256) => get(`/api/photos/${sha256}`),
    put: (sha256, bytes) => put(`/api/photos/${sha256}`, bytes, "image/jpeg"),
  });
  soon(0);
}

/** Sync after `delay` ms, unless that is planned for sooner: steady writing must not put it off. */
function soon(delay = SOON) {
  if (performance.now() + delay < due) plan(delay);
}

function plan(delay) {
  clearTimeout(timer);
  due = performance.now() + delay;
  timer = setTimeout(run, delay);
}

async function run() {
  due = Infinity;
  wanted = running;
  if (running) return;
  running = true;
  let wait;
  try {
    met(await alone(exchange));
    failures = 0;
    wait = REGULAR;
    photosToo().catch(console.warn);
  } catch (error) {
    failures += 1;
    tellOf(error);
    wait = Math.random() * Math.min(LONGEST, SHORTEST * 2 ** failures) + SHORTEST;
  }
  running = false;
  if (wanted) wait = SOON;
  else if (document.hidden) wait = LONGEST;
  plan(Math.min(wait, Math.max(due - performance.now(), 0)));
}

/** An error of our own is no missing network: it is told as what it is. */
function tellOf(error) {
  if (error instanceof Unreachable) return met("away");
  console.error(error);
  return met("fault", error?.message ?? String(error));
}

/** Only one window syncs; another that tries meanwhile lets it. */
async function alone(work) {
  if (!navigator.locks) return work();
  return navigator.locks.request("ringside-sync", { ifAvailable: true }, (lock) => (lock ? work() : reached()));
}

/** Be let in with a code. No exchange may run meanwhile, in any window: it would be of another
    role, and what is hidden from that one lies behind the cursor. */
async function letIn(code, name) {
  const work = async () => pair({ code, name, ...(await store.startOver()) });
  const answer = await (navigator.locks ? navigator.locks.request("ringside-sync", work) : work());
  if (answer.ok) {
    await store.keptOut(null);
    soon(0);
  }
  return answer;
}

async function exchange() {
  let packs = null;
  let ahead = null;
  for (;;) {
    const { more, ...asked } = await store.outgoing(linkSize());
    const sent = ahead ? [] : asked.changes;
    const answer = await (ahead ?? timed({ ...asked, packs: packs ?? asked.packs }));
    if (!answer.ok) return refused(answer);
    ahead = nextOf(answer.body, asked);
    await store.incoming(answer.body, skewOf(answer.body.now), sent);
    failures = 0; // what got through is a new beginning
    packs = answer.body.packs?.wanted ? await store.packHashes() : null;
    if (more || ahead || asked.changes.length > sent.length || answer.body.more || answer.body.anew || packs) continue;
    if (!(await store.endAnew())) return "here";
  }
}

/** The page behind an answer, asked for while that one is still taken in; null where there is none, or
    something waits to be sent first. What is taken in is in order: one that fails ends the exchange. */
function nextOf({ book, cursor, more, anew }, { changes, ...asked }) {
  if (!more || anew || changes.length) return null;
  const coming = timed({ ...asked, book, cursor, changes });
  coming.catch(() => {}); // told when its turn comes
  return coming;
}

/** Photos follow what is written, and hold none of it up. */
async function photosToo() {
  if (reached() !== "here" || linkSize() < FIT_FOR_PHOTOS) return;
  const { exchangePhotos } = await import("./photos.js");
  await exchangePhotos();
}

async function timed(asked) {
  const begun = performance.now();
  try {
    return await post("/api/sync", { protocol: PROTOCOL, records: true, size: Math.round(linkSize()), ...asked });
  } catch (error) {
    linkFailed();
    throw error;
  } finally {
    linkTook(performance.now() - begun);
  }
}

async function refused({ status, body }) {
  if (body?.code === "other-book") {
    await store.meetForeign();
    return "other-book";
  }
  if (status === 401) {
    const why = body?.code === "revoked" ? "revoked" : "not-paired";
    await store.keptOut(why);
    return why;
  }
  if (status >= 500 || status === 429 || status === 408) throw new Unreachable(`The server answered ${status}.`);
  return "trouble";
}

/** By how much (ms) this phone's clock is behind the server's; 0 for what is not worth telling. */
function skewOf(serverNow) {
  const skew = serverNow - Date.now();
  return Math.abs(skew) > SKEW_TOLD ? skew : 0;
}
