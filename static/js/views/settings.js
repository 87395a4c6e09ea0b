// How the app looks on this phone, what it keeps, and which version it is.

import { clone, fill, icon, on, part, text } from "../dom.js";
import { canInstall, install, isInstalled, takeUpdate, updateReady } from "../installation.js";
import { look, setLook } from "../look.js";
import { linkRow } from "../parts/rows.js";
import { saveCopy } from "../parts/savecopy.js";
import { manyWords } from "../parts/syncwords.js";
import * as store from "../store.js";

const CHOICES = {
  theme: { light: "Light", dark: "Dark", auto: "As phone" },
  hand: { right: "Right", left: "Left" },
  size: { normal: "Normal", large: "Large", largest: "Largest" },
  veil: { 6: "6 s", 20: "20 s", 60: "1 min" },
};

export const routes = { settings };

async function settings() {
  const node = fill(clone("settings"), { back: icon("back") });
  for (const [name, choices] of Object.entries(CHOICES)) {
    fill(node, { [name]: Object.entries(choices).map(([value, words]) => choice(name, value, words)) });
  }
  const { waiting } = await store.status();
  part(node, "to-sync").replaceWith(
    linkRow("#/sync", waiting ? `The book: ${manyWords(waiting)} to send` : "The book").firstElementChild,
  );
  part(node, "to-removed").replaceWith(linkRow("#/removed", "Removed").firstElementChild);
  fill(node, {
    version: `Build ${buildOf()}`,
    install: installNodes(),
    update: updateNodes(),
  });
  on(node, "export", saveCopy);
  tellStorage(part(node, "storage"));
  return { node, title: "Settings" };
}

// A browser may ask the person first, who may take their time: the screen stands meanwhile.
async function tellStorage(place) {
  place.textContent = await storageWords();
}

function choice(name, value, words) {
  const node = fill(clone("choice"), { words });
  const input = part(node, "input");
  input.name = name;
  input.value = value;
  input.checked = look()[name] === value;
  input.addEventListener("change", () => setLook(name, value));
  return node;
}

const keptForGood = async () => (await navigator.storage.persisted()) || navigator.storage.persist();

async function storageWords() {
  if (!navigator.storage?.persisted) return "This browser does not say whether it keeps data.";
  const safe = await keptForGood().catch(() => false);
  return safe
    ? "This phone keeps what you write until you remove it."
    : "This phone may clear what you write when it is full. Install the app and sync often.";
}

// The build stands in the address of this very file.
const buildOf = () => new URL(import.meta.url).pathname.split("/")[2];

function installNodes() {
  if (isInstalled()) return [text("p", "Installed on this phone.")];
  if (!canInstall()) {
    return [
      text(
        "p",
        "To install Ringside, choose Install app in the browser's menu. On an iPhone choose Share, then Add to Home Screen.",
      ),
    ];
  }
  const button = text("button", "Install Ringside", "small-button");
  button.type = "button";
  button.addEventListener("click", install);
  return [button];
}

function updateNodes() {
  if (!updateReady()) return [];
  const button = text("button", "Update now", "small-button");
  button.type = "button";
  const words = text("p", "A new version is ready.");
  button.addEventListener("click", async () => {
    const why = await takeUpdate();
    if (why) words.textContent = why;
  });
  return [words, button];
}
