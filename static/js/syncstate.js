// What the screens may know of the sync: how the server was met last. The sync itself writes it.

// A clock that is off by less (ms) is left alone: it is the network's doing as likely as not.
export const SKEW_TOLD = 2 * 60_000;

let state = "unknown";
const heard = new Set();
let nudge = () => {};
let letIn = null;

/** "unknown", "here", "away", "other-book", "not-paired", "revoked" or "trouble". */
export const reached = () => state;

export function met(how) {
  if (state === how) return;
  state = how;
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
