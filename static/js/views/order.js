// An order of one's own for the hands-on exam, moved with buttons: no dragging with one hand.

import { problem } from "../core/check.js";
import { cardOf, dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { rowsOf } from "../parts/guard.js";
import { orderName } from "../parts/names.js";
import { goInstead } from "../router.js";
import { kinds } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "dog/:id/order/:order": order };

const PHASE = "exam";

async function order({ id, order: orderId }) {
  const [file, { order: declared }] = await Promise.all([dogFile(id), kinds()]);
  const row = file?.orders.find((known) => known.id === orderId);
  if (!file || (orderId !== "new" && !row)) return null;
  const card = cardOf(file, row?.values.stations);
  const phase = card.phases.find((known) => known.id === PHASE);
  const stations = [...phase.stations];
  const node = fill(clone("order"), {
    back: icon("back"),
    title: row ? orderName(row) : "New order",
    phase: phase.name,
  });
  part(node, "back").href = `#/dog/${id}`;
  part(node, "label").value = row?.values.label ?? "";
  if (!row) fill(node, { remove: null });
  draw();

  function draw() {
    fill(node, { stations: rowsOf(stations, line) });
  }

  function line(station, place) {
    const item = fill(clone("order-row"), {
      number: String(place + 1),
      name: station.name,
      up: icon("up"),
      down: icon("down"),
    });
    for (const [name, step, words] of [
      ["up", -1, "earlier"],
      ["down", 1, "later"],
    ]) {
      const button = part(item, name);
      button.setAttribute("aria-label", `${station.name} ${words}`);
      button.disabled = !stations[place + step];
      button.addEventListener("click", () => move(place, step, name));
    }
    return item;
  }

  function move(place, step, name) {
    const [station] = stations.splice(place, 1);
    stations.splice(place + step, 0, station);
    draw();
    const moved = part(node, "stations").children[place + step];
    const button = part(moved, name);
    (button.disabled ? moved.querySelector("button:not(:disabled)") : button).focus();
    say(`${station.name} is now number ${place + step + 1}.`);
  }

  part(node, "form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const label = part(node, "label").value.trim();
    const reason = label ? problem(declared.fields.label, label) : "is missing; name it after the judge or the show";
    const place = part(node, "problem");
    place.hidden = !reason;
    place.textContent = reason ? `The name ${reason}.` : "";
    if (reason) return part(node, "label").focus();
    try {
      await store.write("order", row?.id ?? null, { dog: id, label, stations: stations.map((station) => station.id) });
      say("The order was saved.");
      goInstead(`dog/${id}`);
    } catch (error) {
      place.hidden = false;
      place.textContent = `Not saved: ${error.message} Try again.`;
    }
  });
  on(node, "remove", async () => {
    await store.write("order", row.id, { deleted: true });
    say("Removed. Bring it back in Settings, under Removed.");
    goInstead(`dog/${id}`);
  });
  return { node, title: "Order" };
}
