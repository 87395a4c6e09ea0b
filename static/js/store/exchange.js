// The store's side of a sync: what goes out, and taking in an answer, all of it or nothing.

import { later } from "../core/clock.js";
import { uuid7 } from "../core/ids.js";
import { foldInto, knows, renameIn } from "../core/rows.js";
import { kinds } from "../shipped.js";
import { asked, getMeta, putMeta } from "./db.js";
import { announce } from "./news.js";
import { within } from "./ready.js";
import { Rows, ROWS } from "./rows.js";

// A clock that is found off by as much more (ms) is news; by less, it is the network's doing.
const SKEW_SHIFT = 60_000;

async function deviceOf(tx) {
  const known = await getMeta(tx, "device");
  const device = known ?? uuid7();
  if (!known) putMeta(tx, "device", device);
  return device;
}

/** What to send: {device, book, cursor, changes, packs}. At most `most` changes or `bytes`, and
    none to a book that this phone does not know. */
export async function outgoing(most, bytes) {
  return within(["changes", "meta"], "readwrite", async (tx) => {
    const device = await deviceOf(tx);
    const states = tx.objectStore("changes").index("state");
    const waiting = (await getMeta(tx, "foreign")) ? [] : await asked(states.getAll("unsent", most));
    const changes = [];
    let size = 0;
    for (const { state, reason, ...change } of waiting) {
      size += JSON.stringify(change).length;
      if (changes.length && size > bytes) break;
      changes.push(change);
    }
    return {
      device,
      book: (await getMeta(tx, "book")) ?? "",
      cursor: (await getMeta(tx, "cursor")) ?? "",
      changes,
      more: (await asked(states.count("unsent"))) > changes.length,
      packs: (await getMeta(tx, "packs")) ?? "",
    };
  });
}

/** {"kind/id": hash} of the packs held. */
export async function packHashes() {
  const rows = await within(["packs"], "readonly", (tx) => asked(tx.objectStore("packs").getAll()));
  return Object.fromEntries(rows.map(({ kind, id, hash }) => [`${kind}/${id}`, hash]));
}

/** Take in an answer of the book; all of it or nothing. */
export async function incoming(answer, skew) {
  const declared = await kinds();
  const moved = await within(
    ["changes", "parked", "packs", "meta", ...ROWS],
    "readwrite",
    async (tx) => {
      const rows = new Rows(tx, declared);
      const isOff = Math.abs(((await getMeta(tx, "skew")) ?? 0) - skew) > SKEW_SHIFT;
      const news = isOff || (await getMeta(tx, "foreign")) || (await getMeta(tx, "out")) || answer.anew;
      if (answer.anew) await sendAllAgain(tx);
      await settle(tx, rows, declared, answer);
      await fromOthers(tx, rows, declared, answer.changes);
      await rows.keep();
      await takePacks(tx, answer.packs);
      putMeta(tx, "book", answer.book);
      putMeta(tx, "cursor", answer.cursor);
      putMeta(tx, "skew", skew);
      putMeta(tx, "foreign", null);
      putMeta(tx, "out", null);
      if (!answer.more) putMeta(tx, "synced", new Date().toISOString());
      return (
        news ||
        answer.changes.length > 0 ||
        answer.taken.length > 0 ||
        answer.refused.length > 0 ||
        answer.packs?.hashes
      );
    },
    answer.taken.length || answer.refused.length ? "strict" : "relaxed",
  );
  if (moved) announce();
}

/** The book is a restored copy: what it had of ours may be gone, and a repeat does no harm. */
async function sendAllAgain(tx) {
  const changes = tx.objectStore("changes");
  for (const change of await asked(changes.index("state").getAll("sent"))) {
    changes.put({ ...change, state: "unsent" });
  }
}

async function settle(tx, rows, declared, { taken, refused, restamped }) {
  const reasons = new Map(refused.map(({ id, reason }) => [id, reason]));
  const known = new Set(taken);
  if (!known.size && !reasons.size) return;
  const changes = tx.objectStore("changes");
  const states = changes.index("state");
  const renamed = new Map();
  for (const change of await asked(states.getAll("unsent"))) {
    const raw = change.stamp;
    const built = change.base
      .split(" ")
      .map((stamp) => renamed.get(stamp) ?? stamp)
      .filter(Boolean)
      .join(" ");
    if (known.has(change.id)) {
      // Kept under its true stamp: a restored book must get it as the others know it.
      const settled = { ...change, base: built, stamp: restamped[change.id] ?? raw, state: "sent" };
      if (settled.stamp !== raw) {
        changes.delete(raw);
        renamed.set(raw, settled.stamp);
        const row = await rows.row(settled.kind, settled.record);
        renameIn(row.cells, settled, raw);
        if (knows(declared, settled)) foldInto(declared[settled.kind], row, settled);
      }
      changes.put(settled);
    } else if (reasons.has(change.id)) {
      changes.put({ ...change, base: built, state: "refused", reason: reasons.get(change.id) });
      renamed.set(raw, built);
    } else if (built !== change.base) {
      changes.put({ ...change, base: built });
    }
  }
  if (!Object.keys(restamped).length) return;
  // Our clock ran ahead and was put right: go on from what is really the newest.
  const open = (await Promise.all(["unsent", "refused"].map((state) => asked(states.getAll(state))))).flat();
  putMeta(tx, "clock", [...Object.values(restamped), ...open.map((change) => change.stamp)].reduce(later));
}

/** What this version does not know is parked until one comes that does. */
async function fromOthers(tx, rows, declared, arrived) {
  if (!arrived.length) return;
  let clock = (await getMeta(tx, "clock")) ?? "";
  for (const change of arrived) {
    if (knows(declared, change)) foldInto(declared[change.kind], await rows.row(change.kind, change.record), change);
    else tx.objectStore("parked").put(change);
    clock = later(clock, change.stamp);
  }
  putMeta(tx, "clock", clock);
}

/** Packs come with the last page of an answer. Whatever was written here since is not in them. */
async function takePacks(tx, offered) {
  if (!offered || offered.wanted) return;
  if (offered.hashes) {
    const packs = tx.objectStore("packs");
    for (const key of await asked(packs.getAllKeys())) if (!(key.join("/") in offered.hashes)) packs.delete(key);
    for (const [key, pack] of Object.entries(offered.packs)) {
      const [kind, id] = key.split("/");
      packs.put({ kind, id, hash: offered.hashes[key], pack });
    }
    putMeta(tx, "packs", offered.whole);
  }
  const unsent = await asked(tx.objectStore("changes").index("state").count("unsent"));
  if (unsent === 0) tx.objectStore("stale").clear();
}

/** The server keeps another book: remember it, and send nothing until the person has chosen. */
export const meetForeign = () => note("foreign", true);

/** The book does not let this phone in: why ("not-paired" or "revoked"), or null if it does. */
export const keptOut = (why) => note("out", why);

async function note(key, kept) {
  const isNew = await within(["meta"], "readwrite", async (tx) => {
    const known = (await getMeta(tx, key)) ?? null;
    if (known !== kept) putMeta(tx, key, kept);
    return known !== kept;
  });
  if (isNew) announce();
}

/** Receive the whole book again, from its first change. Gives the id of this phone. */
export const startOver = () =>
  within(["meta"], "readwrite", async (tx) => {
    putMeta(tx, "cursor", "");
    return deviceOf(tx);
  });

/** Join the book the server keeps now, with everything this phone wrote. */
export async function joinBook() {
  await within(["changes", "meta"], "readwrite", async (tx) => {
    await sendAllAgain(tx);
    putMeta(tx, "book", "");
    putMeta(tx, "cursor", "");
    putMeta(tx, "foreign", null);
  });
  announce();
}
