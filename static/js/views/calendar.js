// A show in the calendar: as a file that the server makes, or subscribed, by an address from the desk.

import { clone, fill, icon, part } from "../dom.js";
import { showName } from "../parts/names.js";
import { aboutShow } from "../parts/showline.js";
import * as store from "../store.js";

export const routes = { "show/:id/calendar": calendar };

async function calendar({ id }) {
  const show = await store.get("show", id);
  if (!show || show.values.deleted) return null;
  const { zone } = show.values;
  const { waiting } = await store.status();
  const node = fill(clone("calendar"), {
    back: icon("back"),
    about: `${showName(show)}, ${aboutShow(show.values)}`,
    desk: `${location.origin}/desk/calendar`,
    zone: zone
      ? `Ring times stand in the time of ${zone}.`
      : "This show has no time zone, so its ring times do not ring. Edit the show to choose one.",
  });
  part(node, "back").href = `#/show/${id}`;
  // The book makes the file: of what it has not got yet it would say nothing, or not know the show.
  if (waiting) fill(node, { one: null, all: null });
  else fill(node, { waits: null });
  if (!waiting) part(node, "one").href = `/api/calendar/${id}.ics`;
  return { node, title: "Calendar", live: true };
}
