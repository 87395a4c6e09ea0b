// The photos of a dog by day, each with what was said of it.

import { sayDay } from "../core/days.js";
import { clone, fill, icon, part, text } from "../dom.js";
import { rowsOf } from "../parts/guard.js";
import { dogName } from "../parts/names.js";
import { withOlder } from "../parts/older.js";
import { putSmall, saidOf, viewName, viewsAtHand } from "../parts/photo.js";
import { shotOf, waitingNode } from "../parts/shot.js";
import * as store from "../store.js";

export const routes = { "dog/:id/photos": photos };

const AT_ONCE = 12;

async function photos({ id }) {
  const [dog, book, shot] = await Promise.all([store.get("dog", id), viewsAtHand(), shotOf(id)]);
  if (!dog || dog.values.deleted) return null;
  const node = fill(clone("photos"), {
    back: icon("back"),
    unfinished: shot ? [waitingNode(id, shot)] : [],
  });
  part(node, "back").href = `#/dog/${id}`;
  part(node, "take").href = `#/dog/${id}/photo`;
  const list = part(node, "days");
  const add = (some) => {
    const small = [];
    list.append(...daysOf(some, (row) => photoRow(row, { book, portrait: dog.values.portrait, small })));
    putSmall(small);
  };
  await withOlder(node, {
    name: `photos ${id}`,
    step: AT_ONCE,
    read: (most, last) => store.newest("photo", id, most, last),
    add,
  });
  fill(node, {
    none: list.children.length
      ? null
      : "A photo of the dog, stood as you show it, tells its proportions. It stays on this phone unless you copy it to your book.",
  });
  return { node, title: `${dogName(dog)}: photos`, live: true };
}

/** Each day with its rows under it. */
function daysOf(rows, draw) {
  const days = [...new Set(rows.map(({ values }) => values.day ?? ""))];
  return days.flatMap((day) => {
    const list = document.createElement("ul");
    list.className = "plain-list";
    list.append(
      ...rowsOf(
        rows.filter(({ values }) => (values.day ?? "") === day),
        draw,
      ),
    );
    return [text("h2", day ? sayDay(day) : "No day"), list];
  });
}

function photoRow(row, { book, portrait, small }) {
  const { day, view, copy, sha256, ...said } = row.values;
  const uses = [portrait && portrait === sha256 && "Portrait", copy && "Copied to your book"].filter(Boolean);
  const about = saidOf({ ...said, day: "" });
  const node = fill(clone("photo-row"), {
    view: viewName(book, view),
    about: Object.keys(said).some((name) => ["facing", "hides", "stickers"].includes(name)) ? about : null,
    uses: uses.length ? uses.join(" · ") : null,
    icon: icon("onward"),
  });
  part(node, "link").href = `#/photo/${row.id}`;
  small.push([part(node, "small"), row]);
  return node;
}
