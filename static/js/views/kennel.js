// The dogs of the kennel: the first screen, and the side of a wide window.

import { showsFrom } from "../coming.js";
import { lastDay } from "../core/days.js";
import { age, few, localDay, span } from "../core/words.js";
import { learnWords } from "../due.js";
import { clone, figure, fill, icon, on, part } from "../dom.js";
import { kennelPage, remember } from "../first.js";
import { canInstall, install, isInstalled, isTabOnApple, takeUpdate, updateReady } from "../installation.js";
import { rowsOf, sectionOf } from "../parts/guard.js";
import { OUT, syncWords } from "../parts/syncwords.js";
import { breedOf, knowledge } from "../shipped.js";
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
  const node = fill(clone("welcome"), { picture: figure("square", "outline") });
  const { length } = await store.all("dog");
  return length
    ? node
    : fill(node, { title: "Begin with a dog", words: "Add one at the side; its exam card is ready at once." });
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
  const node = fill(kennelPage(rows, path), {
    notices: [...rowsOf(today, todayRow), ...sectionOf(() => notices(status, apart, path))],
    sync: syncWords(status),
    learn: await learnWords(dogs),
  });
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

/** Today's entries, the soonest first: [{id, words}]. */
async function entriesToday() {
  const today = localDay();
  const shows = (await showsFrom(today)).filter(({ values }) => values.day <= today && today <= lastDay(values));
  const entries = (await Promise.all(shows.map((show) => store.about("entry", show.id)))).flat();
  const dogs = await Promise.all(entries.map(({ values }) => store.get("dog", values.dog ?? "")));
  return entries
    .map(({ id, values }, place) => ({
      id,
      values,
      show: shows.find((show) => show.id === values.show),
      dog: dogs[place],
    }))
    .filter(({ show, dog, values }) => show && dog && !dog.values.deleted && (!values.day || values.day === today))
    .sort((one, other) => minutes(one.values.time) - minutes(other.values.time))
    .map(({ id, values, show, dog }) => ({
      id,
      words: [show.values.name, dog.values.name, values.ring && `ring ${values.ring}`, values.time]
        .filter(Boolean)
        .join(", "),
    }));
}

// "9:45" comes before "11:05"; what is no time of day comes last.
function minutes(time) {
  const [, hour, minute] = time?.match(/^(\d{1,2})[:.](\d{2})/) ?? [];
  return hour ? Number(hour) * 60 + Number(minute) : 24 * 60;
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
