// Starts the app with its first screen. All others belong in rest.js: this one waits for none.

import { route, start } from "./router.js";
import { kennel } from "./views/kennel.js";

route("", kennel);

await start(() => import("./rest.js"));
