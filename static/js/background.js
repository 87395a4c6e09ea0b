// What goes on behind the screens: the sync, the worker, and what both tell the screens.

import { start as startDates } from "./dates.js";
import { onNews, start as startWorker } from "./installation.js";
import { goInstead, refresh } from "./router.js";
import * as store from "./store.js";
import { start as startSync } from "./sync.js";
import { onReach, reached } from "./syncstate.js";

export function start() {
  onReach(refresh);
  onNews(refresh);
  startDates();
  offerPairing();
  startSync();
  startWorker();
  // What the worker has to look after can wait until the app is up, and until there is a worker.
  const tell = () => navigator.serviceWorker.controller?.postMessage("opened");
  navigator.serviceWorker?.addEventListener("controllerchange", tell);
  if (navigator.serviceWorker) tell();
}

/** A device that is new, and that the book does not know, is shown the way in. */
function offerPairing() {
  onReach(async () => {
    if (reached() === "not-paired" && (await store.isNew()) && /^#?\/?$/.test(location.hash)) goInstead("pair");
  });
}
