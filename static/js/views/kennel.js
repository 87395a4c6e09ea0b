// The dogs of the kennel: the first screen, and the side of a wide window.

import { breedOf, entriesToday, knowledge } from "../cards.js";
import { age, ago, few, span } from "../core/words.js";
import { clone, figure, fill, icon, on, part } from "../dom.js";
import { kennelPage, remember } from "../first.js";
import * as store from "../store.js";
import { reached, SKEW_TOLD } from "../syncstate.js";
import { canInstall, install, isInstalled, takeUpdate, updateReady } from "../worker.js";

const WIDE = matchMedia("(min-width: 1000px)");

export async function kennel() {
  if (WIDE.matches) return { node: await welcome(), title: "", live: true };
  return { node: await draw(""), title: "", live: true };
}

export const kennelSide = (path) => draw(path);

async function welcome() {
  const node = fill(clone("welcome"), { picture: figure("square", "outline") });
  const { length } = await store.all("dog");
  return length ? node : fill(node, { title: "Begin with a dog", words: "Add one at the side; its exam card is ready at once." });
}

async function draw(path) {
  const [dogs, status, apart, today] = await Promise.all([
    store.all("dog"),
    store.status(),
    store.textsApart(),
    entriesToday(),
    knowledge(),
  ]);
  const byName = (one, other) => (one.values.name ?? "").localeCompare(other.values.name ?? "");
  const rows = await Promise.all(dogs.sort(byName).map(rowOf));
  remember(rows);
  const node = fill(kennelPage(rows, path), { notices: [...today.map(todayRow), ...notices(status, apart, path)], sync: syncWords(status) });
  if (!dogs.length) fill(node, { picture: figure("square", "outline") });
  return node;
}

async function rowOf(dog) {
  const breed = await breedOf(dog);
  const { name, sex, born } = dog.values;
  return {
    id: dog.id,
    name: name || "No name yet",
    breed: breed?.name ?? dog.values.breed ?? "",
    about: [sex, born && age(born)].filter(Boolean).join(", "),
    figure: breed?.figure ?? (dog.values.short_faced ? "short" : "square"),
  };
}

// On the day of a show its gate check is one tap away.
function todayRow({ id, words }) {
  const row = fill(clone("today-row"), { words, icon: icon("onward") });
  part(row, "link").href = `#/gate/${id}`;
  return row;
}

function notices(status, apart, path) {
  const found = [];
  const tell = (kind, words) => found.push(fill(clone("notice"), { icon: icon(kind), words }));
  const offer = (words, label, act) => {
    const node = fill(clone("notice-action"), { icon: icon("onward"), words, act: label });
    on(node, "act", () => act(node));
    found.push(node);
  };
  if (updateReady()) {
    offer("A new version is ready.", "Take it up", async (node) => {
      const why = await takeUpdate();
      if (why) fill(node, { words: why });
    });
  }
  if (canInstall() && !isInstalled()) offer("Keep Ringside on this phone, for when there is no signal.", "Install", install);
  if (isTabOnApple()) {
    tell("caution", "In a Safari tab, what you write can be cleared after seven days. Choose Share, then Add to Home Screen, and open Ringside from there.");
  }
  if (Math.abs(status.skew) > SKEW_TOLD) {
    tell("caution", `This phone's clock is ${span(status.skew)} ${status.skew > 0 ? "slow" : "fast"}. Your changes are ordered by the book's clock.`);
  }
  if (status.out && !path.startsWith("pair")) {
    const again = status.synced ? "Pair again" : "Pair";
    offer(`${OUT[status.out]}. Everything on it stays, and works.`, again, () => {
      location.hash = "#/pair";
    });
  }
  if (apart.length) tell("caution", `${few(apart.length, "text was", "texts were")} written apart on two phones. Both are kept: open the book's page to choose.`);
  if (status.refused.length) tell("missed", `${few(status.refused.length, "change was", "changes were")} not taken by the book. Open the book's page to mend that.`);
  return found;
}

export const isTabOnApple = () => /iPhone|iPad/.test(navigator.userAgent) && !isInstalled();

const OUT = { revoked: "This device is no longer part of the book", "not-paired": "This device is not paired with the book" };

/** The state of the sync in one plain line. */
export function syncWords({ waiting, synced, foreign, out }) {
  if (out) return `${OUT[out]}; ${waiting ? `${few(waiting, "change is", "changes are")} kept here` : "nothing is sent"}`;
  if (foreign) return "This server keeps another book. Nothing is sent.";
  if (reached() === "fault") return "Something went wrong with the book on this phone. Tap to see what.";
  const wait = waiting ? `${few(waiting, "change waits", "changes wait")} for the book` : "";
  if (!synced) return wait ? `${wait}; it was not met yet` : "The book was not met yet";
  if (wait) return reached() === "here" ? `${wait}; sending` : `${wait}; kept here meanwhile`;
  return reached() === "away" ? `Out of reach; all was kept in the book ${ago(synced)}` : `All kept in the book, ${ago(synced)}`;
}
