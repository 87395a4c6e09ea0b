// Everything behind the first screen. It is loaded as soon as that one is drawn, or at once when
// the app is opened elsewhere; never later, so nothing can be missing without a signal.

import { refresh, route } from "./router.js";
import { start as startSync } from "./sync.js";
import { onReach } from "./syncstate.js";
import { onNews, start as startWorker } from "./worker.js";
import { awardForm, awards } from "./views/awards.js";
import { card } from "./views/card.js";
import { dogForm } from "./views/dogform.js";
import { dog } from "./views/dog.js";
import { enter } from "./views/enter.js";
import { gate } from "./views/gate.js";
import { measures } from "./views/measures.js";
import { order } from "./views/order.js";
import { offerPairing, pairing } from "./views/pairing.js";
import { rehearse, rehearseStart } from "./views/rehearse.js";
import { removed } from "./views/removed.js";
import { ring, ringStart } from "./views/ring.js";
import { settings } from "./views/settings.js";
import { entryForm, show, showForm, shows } from "./views/shows.js";
import { sources } from "./views/sources.js";
import { station } from "./views/station.js";
import { sync } from "./views/syncing.js";

route("dog/new", dogForm);
route("dog/:id", dog);
route("dog/:id/edit", dogForm);
route("dog/:id/card", card);
route("dog/:id/station/:station", station);
route("dog/:id/ring", ringStart);
route("dog/:id/rehearse", rehearseStart);
route("dog/:id/order/:order", order);
route("dog/:id/enter", enter);
route("dog/:id/awards", awards);
route("dog/:id/award/:award", awardForm);
route("dog/:id/measures", measures);
route("shows", shows);
route("show/new", showForm);
route("show/:id", show);
route("show/:id/edit", showForm);
route("entry/:id", entryForm);
route("gate/:id", gate);
route("sources", sources);
route("ring/:id", ring);
route("rehearsal/:id", rehearse);
route("settings", settings);
route("sync", sync);
route("removed", removed);
route("pair", pairing);
route("pair/:code", pairing);

onReach(refresh);
onNews(refresh);
offerPairing();
startSync();
startWorker();
// What the worker has to look after can wait until the app is up.
navigator.serviceWorker?.controller?.postMessage("opened");
