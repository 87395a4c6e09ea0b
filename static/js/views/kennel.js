// Home: the day of a show, the dogs. The first screen, and the side of a wide window.

import { few, span } from "../core/words.js";
import { clone, figure, fill, icon, on } from "../dom.js";
import { pageOf, remember } from "../first.js";
import { canInstall, install, isInstalled, isTabOnApple, takeUpdate, updateReady } from "../installation.js";
import { sectionOf } from "../parts/guard.js";
import { homeRows } from "../parts/home.js";
import { OUT, syncWords } from "../parts/syncwords.js";
import * as store from "../store.js";
import { SKEW_TOLD } from "../syncstate.js";

const WIDE = matchMedia("(min-width: 1000px)");

export const routes = { "": kennel };

async function kennel() {
  if (WIDE.matches) return { node: await welcome(), title: "", live: true };
  return { node: await draw(""), title: "", live: true };
}

export const kennelSide = (path) => draw(path);

async function welcome() {
  const node = fill(clone("welcome"), { picture: figure({}, "outline") });
  const { length } = await store.all("dog");
  return length
    ? node
    : fill(node, { title: "Start with a dog", words: "Add one on the left. Its exam card is ready at once." });
}

async function draw(path) {
  const [home, status, apart] = await Promise.all([homeRows(), store.status(), store.textsApart()]);
  remember(home);
  const node = fill(pageOf(home, path), {
    notices: sectionOf(() => notices(status, apart, path)),
    sync: syncWords(status),
    learn: home.learn,
  });
  if (!home.dogs.length) fill(node, { picture: figure({}, "outline") });
  return node;
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
    offer("A new version is ready.", "Update now", async (node) => {
      const why = await takeUpdate();
      if (why) fill(node, { words: why });
    });
  }
  if (canInstall() && !isInstalled()) offer("Install Ringside, so that it opens without a signal.", "Install", install);
  if (isTabOnApple()) {
    tell(
      "caution",
      "Safari can clear what you write in a tab after seven days. Choose Share, then Add to Home Screen, and open Ringside from there.",
    );
  }
  if (Math.abs(status.skew) > SKEW_TOLD) {
    tell(
      "caution",
      `This phone's clock is ${span(status.skew)} ${status.skew > 0 ? "slow" : "fast"}. Set it right. Until then the book's clock decides which change is newer.`,
    );
  }
  if (status.out && !path.startsWith("pair")) {
    const again = status.synced ? "Pair again" : "Pair";
    offer(`${OUT[status.out]}. Everything on it still works.`, again, () => {
      location.hash = "#/pair";
    });
  }
  if (apart.length)
    tell(
      "caution",
      `${few(apart.length, "text was", "texts were")} changed on two phones. Both versions are safe: open the book to choose.`,
    );
  if (status.refused.length)
    tell("missed", `The book refused ${few(status.refused.length, "change", "changes")}. Open the book to see why.`);
  return found;
}
