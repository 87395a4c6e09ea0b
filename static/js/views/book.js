// The book seen from the phone: what waits, what was not taken, and texts written apart.

import { held } from "../core/held.js";
import { span } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { rowsOf } from "../parts/guard.js";
import { kindName } from "../parts/names.js";
import { apartChoice } from "../parts/notes.js";
import { saveCopy } from "../parts/savecopy.js";
import { syncWords } from "../parts/syncwords.js";
import { kinds, knowledge } from "../shipped.js";
import * as store from "../store.js";
import { fault, reached, SKEW_TOLD, tryNow } from "../syncstate.js";

export const routes = { sync: book };

async function book() {
  const [status, apart, { general }, declared] = await Promise.all([
    store.status(),
    store.textsApart(),
    knowledge(),
    kinds(),
  ]);
  const rows = await Promise.all(apart.map((one) => apartRow(one, declared[one.row.kind], general.stations)));
  const node = fill(clone("sync"), {
    back: icon("back"),
    words: [icon(isKept(status) ? "done" : "caution"), ` ${syncWords(status)}.`],
    more: explain(status),
    notices: noticesOf(status),
    refused: rowsOf(status.refused, (change) => refusedRow(change, held(declared, change.kind))),
    apart: rows,
  });
  if (!status.refused.length) part(node, "refused-part").hidden = true;
  if (!apart.length) part(node, "apart-part").hidden = true;
  on(node, "now", () => {
    fill(node, { more: "Trying now." });
    say("Trying now.");
    tryNow();
  });
  return { node, title: "The book", live: true };
}

const isKept = ({ waiting, refused, synced, out }) => Boolean(synced) && !out && !waiting && !refused.length;

function explain({ waiting, synced, out }) {
  if (out) return "Everything here still works. Pair again, and this phone sends what it has saved.";
  if (reached() === "fault")
    return `Something went wrong on this phone: ${fault()} It will try again by itself, and what you wrote is safe. If this does not go away, save a copy in Settings.`;
  if (reached() === "trouble")
    return "This app does not understand the server's answer. You may need a newer version. Nothing is lost.";
  if (waiting) return "What you write is safe on this phone. It is sent when the phone can reach the server.";
  return synced ? "What you write is sent by itself." : "Open the app once where it can reach the server.";
}

function noticesOf(status) {
  const found = [];
  if (Math.abs(status.skew) > SKEW_TOLD) {
    const words = `This phone's clock is ${span(status.skew)} ${status.skew > 0 ? "slow" : "fast"}. Set it right. Until then the book's clock decides which change is newer.`;
    found.push(fill(clone("notice"), { icon: icon("caution"), words }));
  }
  if (status.out) {
    const offer = (words, act, then) =>
      found.push(on(fill(clone("notice-action"), { icon: icon("onward"), words, act }), "act", then));
    offer("An owner of the book can make a code for this phone.", status.synced ? "Pair again" : "Pair", () => {
      location.hash = "#/pair";
    });
    offer("Save what is on this phone to a file.", "Save a copy", saveCopy);
  }
  if (status.foreign) {
    const node = fill(clone("notice-action"), {
      icon: icon("caution"),
      words:
        "The server at this address has a different book from the one on this phone. If you join it, everything on this phone is sent there.",
      act: "Join this book",
    });
    on(node, "act", async () => {
      await store.joinBook();
      tryNow();
    });
    found.push(node);
  }
  return found;
}

/** Both texts, to choose here: of a record of whatever kind, wherever its own screen is. */
async function apartRow({ row, field }, kind, stations) {
  const dog = row.values.dog && (await store.get("dog", row.values.dog));
  const station = stations.find(({ id }) => id === row.values.station);
  const name = [kindName(kind), dog?.values.name, station?.name].filter(Boolean).join(", ");
  const item = document.createElement("li");
  item.append(apartChoice(row, field, name));
  return item;
}

function refusedRow(change, kind) {
  const shown = typeof change.value === "string" ? change.value.slice(0, 80) : JSON.stringify(change.value);
  const node = fill(clone("refused-row"), {
    words: `${kind ? kindName(kind) : change.kind}: ${shown}`,
    reason: change.reason,
  });
  const mend = part(node, "mend");
  if (change.kind === "dog") mend.href = `#/dog/${change.record}/edit`;
  else mend.remove();
  return on(node, "let", () => {
    part(document, "title").focus({ preventScroll: true });
    return store.letGo(change.stamp);
  });
}
