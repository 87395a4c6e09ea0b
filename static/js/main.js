// Starts the app with its first screen, which waits for none of the others. They, and what goes on
// behind them, are loaded as soon as it is drawn, or at once when the app is opened elsewhere; never
// later, so nothing can be missing without a signal.

import { addRoutes, start } from "./router.js";
import { kennelSide, routes } from "./views/kennel.js";

let loading = null;

const rest = () =>
  (loading ??= load().catch((error) => {
    loading = null;
    throw error;
  }));

async function load() {
  const behind = await import("./behind.js");
  for (const view of Object.values(behind.views)) addRoutes(view.routes);
  behind.start();
}

addRoutes(routes);
await start(kennelSide, rest);
