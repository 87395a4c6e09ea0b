// The state of the sync, in words.

import { ago } from "../core/words.js";
import { MOST_COUNTED } from "../store.js";
import { reached } from "../syncstate.js";

/** Why the book does not let this device in. */
export const OUT = {
  revoked: "This phone was removed from the book",
  "not-paired": "This phone is not paired with the book",
};

/** How many wait: "3", or "more than 1,000". */
export const manyWords = (waiting) =>
  waiting > MOST_COUNTED ? `more than ${MOST_COUNTED.toLocaleString("en")}` : `${waiting}`;

const changes = (waiting) => `${manyWords(waiting)} ${waiting === 1 ? "change" : "changes"}`;
const opening = (words) => `${words.charAt(0).toUpperCase()}${words.slice(1)}`;

/** The state of the sync in one plain line. */
export function syncWords({ waiting, synced, foreign, out }) {
  if (out) return `${OUT[out]}; ${waiting ? `${changes(waiting)} saved on it` : "nothing is sent"}`;
  if (foreign) return "This server has a different book. Nothing is sent.";
  if (reached() === "fault") return "Something went wrong on this phone. Tap to see what.";
  const wait = waiting ? opening(`${changes(waiting)} to send`) : "";
  if (!synced) return wait ? `${wait}; not synced yet` : "Not synced yet";
  if (wait) return reached() === "here" ? `Sending ${changes(waiting)}` : `${wait}; saved on this phone`;
  return reached() === "away" ? `Offline; last synced ${ago(synced)}` : `All synced, ${ago(synced)}`;
}

const LATE = 60_000;

/** The same in the ring, where it says nothing but that something is not safe yet: it could not be
    saved here, or has waited over a minute to be sent. */
export function ringSync({ waiting, since, skew }, isUnkept, now = Date.now()) {
  if (isUnkept) return "not saved";
  return waiting && now + skew - since > LATE ? `${manyWords(waiting)} not sent` : "";
}
