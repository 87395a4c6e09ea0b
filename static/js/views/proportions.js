// The proportions of a dog, from the marks on its photos.

import { proportionsScreen } from "../parts/proportions.js";

export const routes = { "dog/:id/proportions": proportionsScreen };
