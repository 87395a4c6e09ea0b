// Starts the app: the first screen first, then everything that can wait.

import { route, start as startRouter } from "./router.js";
import { start as startSync } from "./sync.js";
import { start as startWorker } from "./worker.js";
import { card } from "./views/card.js";
import { dogForm } from "./views/dogform.js";
import { dog } from "./views/dog.js";
import { kennel } from "./views/kennel.js";
import { order } from "./views/order.js";
import { rehearse, rehearseStart } from "./views/rehearse.js";
import { removed } from "./views/removed.js";
import { ring, ringStart } from "./views/ring.js";
import { settings } from "./views/settings.js";
import { station } from "./views/station.js";
import { sync } from "./views/syncing.js";

route("", kennel);
route("dog/new", dogForm);
route("dog/:id", dog);
route("dog/:id/edit", dogForm);
route("dog/:id/card", card);
route("dog/:id/station/:station", station);
route("dog/:id/ring", ringStart);
route("dog/:id/rehearse", rehearseStart);
route("dog/:id/order/:order", order);
route("ring/:id", ring);
route("rehearsal/:id", rehearse);
route("settings", settings);
route("sync", sync);
route("removed", removed);

await startRouter();
startSync();
startWorker();
