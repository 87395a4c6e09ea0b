// Words of the trade in a text: tapped, each says in a sentence what it means, below the line.

import { finderOf, piecesOf } from "../core/terms.js";
import { fill, part, text } from "../dom.js";
import { lineNode } from "./lines.js";

/** Make the words of the trade in these parts of `root` tappable; those of `asks` (a part of `root`)
    also where they are everyday words.
    @param {{terms: any[], sources: any}} book */
export function explainTerms(root, book, names = ["headline", "words", "more"]) {
  if (!book.terms.length) return;
  const [usual, asked] = [finderOf(book.terms), finderOf(book.terms, true)];
  for (const place of root.querySelectorAll(names.map((name) => `[data-part="${name}"]`).join(", "))) {
    if (place.closest("summary, .own, button, a")) continue;
    explain(place, place.closest(".asks") ? asked : usual, book);
  }
}

function explain(place, finder, book) {
  for (const node of [...place.childNodes].filter((one) => one.nodeType === Node.TEXT_NODE)) {
    const pieces = piecesOf(node.data, finder);
    if (!pieces.some(({ term }) => term)) continue;
    node.replaceWith(...pieces.map(({ words, term }) => (term ? termButton(words, term, place, book) : words)));
  }
}

function termButton(words, term, place, book) {
  const button = /** @type {HTMLButtonElement} */ (text("button", words, "term"));
  button.type = "button";
  button.setAttribute("aria-expanded", "false");
  button.addEventListener("click", () => {
    const isOpen = button.getAttribute("aria-expanded") === "true";
    const host = place.closest("li") ?? place;
    for (const other of host.querySelectorAll(".term")) other.setAttribute("aria-expanded", "false");
    const said = host.matches("li") ? host.querySelector(":scope > .term-says") : host.nextElementSibling;
    if (said?.classList.contains("term-says")) said.remove();
    if (isOpen) return;
    button.setAttribute("aria-expanded", "true");
    const sentence = termSays(term, book);
    if (host.matches("li")) (place.closest("p") ?? place).after(sentence);
    else host.after(sentence);
  });
  return button;
}

/** What a term means, with its source. */
function termSays(term, book) {
  const node = text("div", "", "term-says");
  node.setAttribute("role", "status");
  const line = lineNode(book, term, { words: "", more: term.care });
  fill(line, { words: [text("b", term.name), `: ${term.says}`] });
  node.replaceChildren(...line.childNodes);
  part(node, "icon")?.remove();
  return node;
}
