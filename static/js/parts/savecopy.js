// A copy of all that this phone holds, as a file of the person's own.

import { say } from "../dom.js";
import * as store from "../store.js";

export async function saveCopy() {
  const data = JSON.stringify(await store.everything(), null, 1);
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([data], { type: "application/json" }));
  link.download = "ringside-phone.json";
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  say("Copy saved. It includes your private notes, so keep it to yourself.");
}
