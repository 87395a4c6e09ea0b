// The marks on a photo, for whoever measures by it; its scripts come when it is opened.

import { goInstead } from "../router.js";

export const routes = { "photo/:id/mark": mark };

async function mark(at) {
  const { markScreen } = await import("../parts/photoscreens.js");
  return markScreen(at, goInstead);
}
