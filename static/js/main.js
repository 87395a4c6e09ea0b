// Starts the app with its first screen, which waits for none of the others. Those of a show, and what
// goes on behind them, are loaded as soon as it is drawn, or at once when the app is opened elsewhere;
// those for home, and those that go by photos, when one of them is opened.

import { addRoutes, start } from "./router.js";
import { takeInMarkup, takeInSheet } from "./shipped.js";
import { kennelSide, routes } from "./views/kennel.js";

function add(views) {
  for (const view of Object.values(views)) addRoutes(view.routes);
}

const once = (load) => {
  let loading = null;
  return () =>
    (loading ??= load().catch((error) => {
      loading = null;
      throw error;
    }));
};

const markupOf = (name) => once(() => takeInMarkup(name));
const forShow = markupOf("show");
const forHome = markupOf("athome");
const sheet = once(takeInSheet);

const behind = once(async () => {
  const [loaded] = await Promise.all([import("./behind.js"), forShow()]);
  add(loaded.views);
  loaded.start();
});

const later = (load) =>
  once(async () => {
    const [views] = await Promise.all([load(), forHome(), sheet()]).catch((error) => {
      throw new Error("This screen has not reached this phone yet.", { cause: error });
    });
    add(views);
  });

const atHome = later(() => import("./athome.js"));
const byPhoto = later(() => import("./byphoto.js"));

addRoutes(routes);
start(kennelSide, [behind, atHome, byPhoto]);
