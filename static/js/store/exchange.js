// The store's side of a sync: what goes out, and taking in an answer, all of it or nothing.

import { later } from "../core/clock.js";
import { uuid7 } from "../core/ids.js";
import { winner } from "../core/merge.js";
import { kinds } from "../shipped.js";
import { asked, getMeta, putMeta } from "./db.js";
import { announce } from "./news.js";
import { within } from "./ready.js";
import { Rows, ROWS } from "./rows.js";

// A clock that is found off by as much more (ms) is news; by less, it is the network's doing.
const SKEW_SHIFT = 60_000;
const AT_ONCE = 1_000;

/** {device, key}: what this phone is called, and what only it knows, made when first asked for. */
async function deviceOf(tx) {
  const [device = uuid7(), key = secret()] = await Promise.all(["device", "key"].map((name) => getMeta(tx, name)));
  putMeta(tx, "device", device);
  putMeta(tx, "key", key);
  return { device, key };
}

const secret = () =>
  Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");

/** What to send: {device, book, cursor, changes, more, packs}. Some `bytes` of changes, and none to
    a book that this phone does not know. What was written together goes together. */
export async function outgoing(bytes) {
  return within(["changes", "meta"], "readwrite", async (tx) => {
    const { device } = await deviceOf(tx);
    const isForeign = await getMeta(tx, "foreign");
    const { changes, more } = isForeign ? { changes: [], more: false } : await unsent(tx, bytes);
    return {
      device,
      book: (await getMeta(tx, "book")) ?? "",
      cursor: (await getMeta(tx, "cursor")) ?? "",
      changes,
      more,
      packs: (await getMeta(tx, "packs")) ?? "",
    };
  });
}

const momentOf = ({ stamp }) => stamp.slice(0, 12);

/** The oldest unsent changes: whole moments, as many as go into `bytes`, and one at least. */
function unsent(tx, bytes) {
  const changes = [];
  let size = 0;
  return new Promise((resolve, reject) => {
    const request = tx.objectStore("changes").index("state").openCursor("unsent");
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const cursor = request.result;
      if (!cursor) return resolve({ changes, more: false });
      const { state, reason, ...change } = cursor.value;
      size += JSON.stringify(change).length;
      const isNext = changes.length > 0 && momentOf(change) !== momentOf(changes.at(-1));
      if (isNext && size > bytes) return resolve({ changes, more: true });
      changes.push(change);
      return cursor.continue();
    };
  });
}

/** {"kind/id": hash} of the packs held. */
export async function packHashes() {
  const rows = await within(["packs"], "readonly", (tx) => asked(tx.objectStore("packs").getAll()));
  return Object.fromEntries(rows.map(({ kind, id, hash }) => [`${kind}/${id}`, hash]));
}

/** Take in an answer of the book to what was `sent`; all of it or nothing. */
export async function incoming(answer, skew, sent = null) {
  const declared = await kinds();
  if (answer.anew) await sendMostAgain();
  const moved = await within(
    ["changes", "packs", "meta", ...ROWS],
    "readwrite",
    async (tx) => {
      if (answer.anew) await beginAnew(tx);
      const rows = await Rows.of(tx, declared);
      if (answer.anew) await keepRefused(tx, rows);
      const isOff = Math.abs(((await getMeta(tx, "skew")) ?? 0) - skew) > SKEW_SHIFT;
      const news = isOff || (await getMeta(tx, "foreign")) || (await getMeta(tx, "out")) || answer.anew;
      await settle(tx, rows, answer, sent);
      await standing(tx, rows, answer.records ?? []);
      await fromOthers(tx, rows, answer.changes);
      await rows.keep();
      await takePacks(tx, answer.packs);
      putMeta(tx, "book", answer.book);
      putMeta(tx, "cursor", answer.cursor);
      putMeta(tx, "skew", skew);
      putMeta(tx, "foreign", null);
      putMeta(tx, "out", null);
      if (!answer.more && !answer.packs?.wanted) putMeta(tx, "synced", new Date().toISOString());
      return news || hasNews(answer);
    },
    answer.taken.length || answer.refused.length ? "strict" : "relaxed",
  );
  if (moved) announce();
}

const hasNews = ({ changes, records, taken, refused, packs }) =>
  [changes, records ?? [], taken, refused].some((part) => part.length > 0) || Boolean(packs?.hashes);

/** The book is a restored copy: what it had of ours may be gone, and a repeat does no harm. What it
    had of others may be gone too: the rows are gathered anew beside what is shown. */
async function beginAnew(tx) {
  await sendAllAgain(tx);
  tx.objectStore("parked").clear();
  const last = (await getMeta(tx, "anews")) ?? 0;
  putMeta(tx, "anews", last + 1);
  putMeta(tx, "anew", last + 1);
}

/** What the book refused stays on this phone until it is mended. */
async function keepRefused(tx, rows) {
  for (const change of await asked(tx.objectStore("changes").index("state").getAll("refused"))) await rows.take(change);
}

/** Have what was ever sent be sent again, so many changes at once: there may be years of them, and other
    writes get between. What is left, `sendAllAgain` does in the transaction that counts on it. Cut off
    anywhere, this has done no harm: the book takes once more what it has. */
async function sendMostAgain() {
  for (let marked = AT_ONCE; marked === AT_ONCE; )
    marked = await within(["changes"], "readwrite", sendSomeAgain, "relaxed");
}

async function sendSomeAgain(tx) {
  const changes = tx.objectStore("changes");
  const some = await asked(changes.index("state").getAll("sent", AT_ONCE));
  for (const change of some) changes.put({ ...change, state: "unsent" });
  return some.length;
}

/** What was ever sent is sent again. Until it was, a pack may come that was made without it. */
async function sendAllAgain(tx) {
  for (let marked = AT_ONCE; marked; ) marked = await sendSomeAgain(tx);
  const stale = tx.objectStore("stale");
  for (const [kind, id] of await asked(tx.objectStore("packs").getAllKeys())) stale.put({ kind, id });
}

async function settle(tx, rows, { taken, refused, restamped }, sent) {
  const reasons = new Map(refused.map(({ id, reason }) => [id, reason]));
  const known = new Set(taken);
  if (!known.size && !reasons.size) return;
  const changes = tx.objectStore("changes");
  const states = changes.index("state");
  const renamed = new Map();
  const own = sent
    ? await Promise.all(sent.map(({ stamp }) => asked(changes.get(stamp))))
    : await asked(states.getAll("unsent"));
  for (const change of own.filter((one) => one?.state === "unsent")) {
    const raw = change.stamp;
    const built = rebuilt(change.base, renamed);
    if (known.has(change.id)) {
      // Kept under its true stamp: a restored book must get it as the others know it.
      const settled = { ...change, base: built, stamp: restamped[change.id] ?? raw, state: "sent" };
      if (settled.stamp !== raw) {
        changes.delete(raw);
        renamed.set(raw, settled.stamp);
      }
      await rows.settle(settled, raw);
      changes.put(settled);
    } else if (reasons.has(change.id)) {
      changes.put({ ...change, base: built, state: "refused", reason: reasons.get(change.id) });
      renamed.set(raw, built);
    } else if (built !== change.base) {
      changes.put({ ...change, base: built });
    }
  }
  if (renamed.size) await renameBases(changes, renamed);
  if (!Object.keys(restamped).length) return;
  // Our clock ran ahead and was put right: go on from what is really the newest.
  const open = (await Promise.all(["unsent", "refused"].map((state) => asked(states.getAll(state))))).flat();
  putMeta(tx, "clock", [...Object.values(restamped), ...open.map((change) => change.stamp)].reduce(later));
}

const rebuilt = (base, renamed) =>
  base
    .split(" ")
    .map((stamp) => renamed.get(stamp) ?? stamp)
    .filter(Boolean)
    .join(" ");

/** What waits may be built on what was renamed just now. */
async function renameBases(changes, renamed) {
  for (const change of await asked(changes.index("state").getAll("unsent"))) {
    const built = rebuilt(change.base, renamed);
    if (built !== change.base) changes.put({ ...change, base: built });
  }
}

/** Records as they stand in the book: [[kind, id, cells], ...]. */
async function standing(tx, rows, records) {
  const byKind = Map.groupBy ? Map.groupBy(records, ([kind]) => kind) : grouped(records);
  for (const [kind, own] of byKind) {
    await rows.readAll(
      kind,
      own.map(([, id]) => id),
    );
    for (const [, id, cells] of own) await rows.join(kind, id, cells);
  }
  const stamps = records.flatMap(([, , cells]) => Object.values(cells).map(winner));
  if (stamps.length) putMeta(tx, "clock", [(await getMeta(tx, "clock")) ?? "", ...stamps].reduce(later));
}

function grouped(records) {
  const groups = new Map();
  for (const record of records) groups.set(record[0], [...(groups.get(record[0]) ?? []), record]);
  return groups;
}

async function fromOthers(tx, rows, arrived) {
  if (!arrived.length) return;
  let clock = (await getMeta(tx, "clock")) ?? "";
  for (const change of arrived) {
    await rows.take(change);
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
  const unsent = await asked(tx.objectStore("changes").index("state").getKey("unsent"));
  if (unsent === undefined) tx.objectStore("stale").clear();
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
  await sendMostAgain();
  await within(["changes", "packs", "stale", "meta"], "readwrite", async (tx) => {
    await sendAllAgain(tx);
    putMeta(tx, "book", "");
    putMeta(tx, "cursor", "");
    putMeta(tx, "foreign", null);
  });
  announce();
}
