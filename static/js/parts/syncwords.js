// The state of the sync, in words.

import { ago, few } from "../core/words.js";
import { reached } from "../syncstate.js";

/** Why the book does not let this device in. */
export const OUT = {
  revoked: "This device is no longer part of the book",
  "not-paired": "This device is not paired with the book",
};

/** The state of the sync in one plain line. */
export function syncWords({ waiting, synced, foreign, out }) {
  if (out)
    return `${OUT[out]}; ${waiting ? `${few(waiting, "change is", "changes are")} kept here` : "nothing is sent"}`;
  if (foreign) return "This server keeps another book. Nothing is sent.";
  if (reached() === "fault") return "Something went wrong with the book on this phone. Tap to see what.";
  const wait = waiting ? `${few(waiting, "change waits", "changes wait")} for the book` : "";
  if (!synced) return wait ? `${wait}; it was not met yet` : "The book was not met yet";
  if (wait) return reached() === "here" ? `${wait}; sending` : `${wait}; kept here meanwhile`;
  return reached() === "away"
    ? `Out of reach; all was kept in the book ${ago(synced)}`
    : `All kept in the book, ${ago(synced)}`;
}

const LATE = 60_000;

/** The same in the ring, where it says nothing but that something is not safe yet: it could not be
    saved here, or has waited over a minute to be sent. */
export function ringSync({ waiting, since, skew }, isUnkept, now = Date.now()) {
  if (isUnkept) return "not saved";
  return waiting && now + skew - since > LATE ? `${waiting} not sent` : "";
}
