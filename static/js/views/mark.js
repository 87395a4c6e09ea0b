// The marks on a photo, for whoever measures by it.

import { markScreen } from "../parts/photomark.js";
import { goInstead } from "../router.js";

export const routes = { "photo/:id/mark": mark };

function mark(at) {
  return markScreen(at, goInstead);
}
