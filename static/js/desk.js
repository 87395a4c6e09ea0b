// At the desk: the pocket card that the server has written (templates/desk/card.html), laid onto its sheet.

import { startSheet } from "./parts/pocketcard.js";

const page = /** @type {HTMLElement} */ (document.querySelector(".pocket-page"));
startSheet(page, page.dataset.name ?? "");
