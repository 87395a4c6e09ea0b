// Marks the dates that nobody wrote, which no style sheet can tell from others: in WebKit they look
// filled in.

import { inShell } from "./dom.js";

export function start() {
  const main = inShell("main");
  new MutationObserver(() => mark(main)).observe(main, { childList: true });
  for (const type of ["input", "change"]) main.addEventListener(type, () => mark(main));
}

function mark(root) {
  for (const field of root.querySelectorAll('input[type="date"]')) field.classList.toggle("no-date", !field.value);
}
