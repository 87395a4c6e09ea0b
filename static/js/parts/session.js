// What a session of practice says of itself: whose hands were on the dog, and where it was.

import { clone, fill, part } from "../dom.js";

const HANDS = { own: "Own", known: "Known", stranger: "Stranger" };

/** Put the questions into part `session` of `node`; gives a function that reads the answers. */
export function sessionFields(node) {
  const fields = clone("session");
  const choices = Object.entries(HANDS).map(([value, words]) => {
    const choice = fill(clone("choice"), { words });
    const input = part(choice, "input");
    input.name = "hands";
    input.value = value;
    input.checked = value === "own";
    return choice;
  });
  fill(fields, { hands: choices });
  fill(node, { session: fields });
  return () => {
    const where = part(fields, "where").value.trim();
    const chosen = /** @type {HTMLInputElement} */ (fields.querySelector("input:checked"));
    return { hands: chosen.value, ...(where && { where }) };
  };
}
