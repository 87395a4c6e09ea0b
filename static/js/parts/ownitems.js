// Items of one's own in the gate check of a dog: added in a line, removed where they stand.

import { fill, part, say } from "../dom.js";
import * as store from "../store.js";

const MOST = 7;
const GLANCE = 30;
const LONGEST = 40;

/** Work the form in `node`. `kit` gives the rows there are, `reread` draws them anew.
    @param {HTMLElement} node
    @param {{ id: string }} dog
    @param {() => any[]} kit
    @param {() => Promise<void>} reread */
export function ownItems(node, dog, kit, reread) {
  const line = part(node, "kit-line");
  const hint = (words) => fill(node, { "kit-hint": words });

  line.addEventListener("input", () => {
    const length = [...line.value.trim()].length;
    hint(length > GLANCE ? `${length} letters: more than ${GLANCE} cannot be read at a glance.` : "");
  });

  part(node, "kit-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const words = line.value.trim();
    if (!words) return hint("Write something first: what you see when it is done, such as “Cooling coat wet”.");
    if ([...words].length > LONGEST) return hint(`Keep it to ${LONGEST} letters; ${GLANCE} read at a glance.`);
    if (kit().length >= MOST)
      return hint(
        `You can have ${MOST} items of your own. To add another, tap the arrow beside one and remove it first.`,
      );
    try {
      await store.write("kit", null, { dog: dog.id, line: words });
      line.value = "";
      hint("");
      say(`${words}: added.`);
      await reread();
    } catch (error) {
      hint(`Not saved: ${error.message} It is still here; try again.`);
    }
  });

  return {
    async remove(id, words) {
      await store.write("kit", id, { deleted: true });
      say(`${words}: removed. Bring it back in Settings, under Removed.`);
      await reread();
      part(node, "kit-form").closest("details").open = true;
      line.focus({ preventScroll: true });
    },
  };
}
