// The state of the sync, in words.

import { ago, few } from "../core/words.js";
import { reached } from "../syncstate.js";

/** Why the book does not let this device in. */
export const OUT = {
  revoked: "This phone was removed from the book",
  "not-paired": "This phone is not paired with the book",
};

/** The state of the sync in one plain line. */
export function syncWords({ waiting, synced, foreign, out }) {
  if (out) return `${OUT[out]}; ${waiting ? `${few(waiting, "change", "changes")} saved on it` : "nothing is sent"}`;
  if (foreign) return "This server has a different book. Nothing is sent.";
  if (reached() === "fault") return "Something went wrong on this phone. Tap to see what.";
  const wait = waiting ? `${few(waiting, "change", "changes")} to send` : "";
  if (!synced) return wait ? `${wait}; not synced yet` : "Not synced yet";
  if (wait)
    return reached() === "here" ? `Sending ${few(waiting, "change", "changes")}` : `${wait}; saved on this phone`;
  return reached() === "away" ? `Offline; last synced ${ago(synced)}` : `All synced, ${ago(synced)}`;
}

const LATE = 60_000;

/** The same in the ring, where it says nothing but that something is not safe yet: it could not be
    saved here, or has waited over a minute to be sent. */
export function ringSync({ waiting, since, skew }, isUnkept, now = Date.now()) {
  if (isUnkept) return "not saved";
  return waiting && now + skew - since > LATE ? `${waiting} not sent` : "";
}
