// Home: the day of a show, the dogs. The first screen, and the side of a wide window.

import { few, span } from "../core/words.js";
import { clone, figure, fill, icon, on } from "../dom.js";
import { homePage, remember } from "../first.js";
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
    : fill(node, { title: "Begin with a dog", words: "Add one at the side; its exam card is ready at once." });
}

async function draw(path) {
  const [home, status, apart] = await Promise.all([homeRows(), store.status(), store.textsApart()]);
  remember(home);
  const node = fill(homePage(home, path), {
    notices: sectionOf(() => notices(status, apart, path)),
    sync: syncWords(status),
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
    offer("A new version is ready.", "Take it up", async (node) => {
      const why = await takeUpdate();
      if (why) fill(node, { words: why });
    });
  }
  if (canInstall() && !isInstalled())
    offer("Keep Ringside on this phone, for when there is no signal.", "Install", install);
  if (isTabOnApple()) {
    tell(
      "caution",
      "In a Safari tab, what you write can be cleared after seven days. Choose Share, then Add to Home Screen, and open Ringside from there.",
    );
  }
  if (Math.abs(status.skew) > SKEW_TOLD) {
    tell(
      "caution",
      `This phone's clock is ${span(status.skew)} ${status.skew > 0 ? "slow" : "fast"}. Your changes are ordered by the book's clock.`,
    );
  }
  if (status.out && !path.startsWith("pair")) {
    const again = status.synced ? "Pair again" : "Pair";
    offer(`${OUT[status.out]}. Everything on it stays, and works.`, again, () => {
      location.hash = "#/pair";
    });
  }
  if (apart.length)
    tell(
      "caution",
      `${few(apart.length, "text was", "texts were")} written apart on two phones. Both are kept: open the book's page to choose.`,
    );
  if (status.refused.length)
    tell(
      "missed",
      `${few(status.refused.length, "change was", "changes were")} not taken by the book. Open the book's page to mend that.`,
    );
  return found;
}
