// What the screens may know of the sync: how the server was met last. The sync itself writes it.

// A clock that is off by less (ms) is left alone: it is the network's doing as likely as not.
export const SKEW_TOLD = 2 * 60_000;

let state = "unknown";
let why = "";
const heard = new Set();
let nudge = () => {};
let letIn = null;
let way = null;

/** "unknown", "here", "away", "other-book", "not-paired", "revoked", "trouble" or "fault". */
export const reached = () => state;

/** What went wrong on this phone, where it did ("fault"). */
export const fault = () => why;

export function met(how, reason = "") {
  if (state === how && why === reason) return;
  state = how;
  why = reason;
  for (const listener of heard) listener();
}

export function onReach(listener) {
  heard.add(listener);
  return () => heard.delete(listener);
}

/** Ask for a sync now; the sync has put itself behind this. */
export const tryNow = () => nudge();
export const answerNudge = (act) => {
  nudge = act;
};

/** Ask to be let in with a code; gives what the server said, throws if it is out of reach. */
export const pairWith = (code, name) => letIn(code, name);
export const answerPairing = (act) => {
  letIn = act;
};

/** {get(sha256), put(sha256, bytes)}: the way of photos to the book and back, null before there is one. */
export const photoWay = () => way;
export const answerPhotos = (given) => {
  way = given;
};
