// Letting this device in: by a code that is typed, or by one that came with a link.

import { clone, fill, icon, on, part } from "../dom.js";
import { tell } from "../forms.js";
import { isTabOnApple } from "../installation.js";
import { saveCopy } from "../parts/savecopy.js";
import * as store from "../store.js";
import { pairWith } from "../syncstate.js";

const NAMES = { iPhone: "iPhone", iPad: "iPad", Android: "Android phone", Mac: "Mac", Windows: "Windows computer" };

const suggestion = () => NAMES[Object.keys(NAMES).find((sign) => navigator.userAgent.includes(sign))] ?? "Computer";

export const routes = { pair: pairing, "pair/:code": pairing };

async function pairing({ code = "" }) {
  // A code is for once: it must not stay in the address, nor come back with it.
  if (code) history.replaceState(history.state, "", "#/pair");
  const { out } = await store.status();
  const node = fill(clone("pairing"), {
    back: icon("back"),
    title: "Pair this device",
    words: wordsFor(code),
    notices: noticesFor(out),
  });
  const form = part(node, "form");
  part(node, "typed").hidden = Boolean(code);
  form.elements.name.value = suggestion();
  let asking = false;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (asking) return;
    asking = true;
    const wrong = await ask(node, code || form.elements.code.value.trim(), form.elements.name.value);
    asking = false;
    tell(node, wrong);
    if (!wrong) return;
    fill(node, { go: "Pair" });
    // Out of reach, the link's code is still good; refused, only another one can help.
    if (wrong !== AWAY) code = "";
    part(node, "typed").hidden = Boolean(code);
    if (!code) form.elements.code.focus();
  });
  return { node, title: "Pair this device" };
}

const AWAY = "This phone cannot reach the server. The code is still good: join the server's network and try again.";

/** Ask to be let in. Gives what is wrong, "" if nothing is. */
async function ask(node, code, name) {
  if (!code) return "Type the code first.";
  fill(node, { go: "Pairing…" });
  const answer = await pairWith(code, name).catch(() => null);
  if (!answer || answer.status >= 500) return AWAY;
  if (!answer.ok)
    return (
      answer.body?.message ?? "This app does not understand the server's answer. Update one of them and try again."
    );
  const isOwner = answer.body.role === "owner";
  part(node, "form").hidden = true;
  part(node, "done").hidden = false;
  fill(node, {
    notices: [],
    words: "",
    "done-words": isOwner
      ? "Paired. This device sees the whole book."
      : "Paired as a helper. This device sees everything but private notes.",
  });
  if (!isOwner) part(node, "desk").remove();
  return "";
}

function wordsFor(code) {
  if (isTabOnApple())
    return "On an iPhone, add Ringside to the Home Screen first and type the code there: Safari and the app do not share data.";
  return code ? "The link brought the code." : "Only paired devices can use the book. Ask its owner for a code.";
}

function noticesFor(out) {
  if (out !== "revoked") return [];
  const words = "This phone was removed from the book. What is on it stays here.";
  return [on(fill(clone("notice-action"), { icon: icon("caution"), words, act: "Save a copy" }), "act", saveCopy)];
}
