// Every screen behind the first, a line each.

export * as awards from "./views/awards.js";
export * as book from "./views/book.js";
export * as card from "./views/card.js";
export * as checks from "./views/checks.js";
export * as dog from "./views/dog.js";
export * as dogform from "./views/dogform.js";
export * as enter from "./views/enter.js";
export * as gate from "./views/gate.js";
export * as held from "./views/held.js";
export * as learn from "./views/learn.js";
export * as litter from "./views/litter.js";
export * as measures from "./views/measures.js";
export * as note from "./views/note.js";
export * as order from "./views/order.js";
export * as pairing from "./views/pairing.js";
export * as rehearse from "./views/rehearse.js";
export * as removed from "./views/removed.js";
export * as ring from "./views/ring.js";
export * as ringstart from "./views/ringstart.js";
export * as round from "./views/round.js";
export * as settings from "./views/settings.js";
export * as shows from "./views/shows.js";
export * as sources from "./views/sources.js";
export * as station from "./views/station.js";
export * as words from "./views/words.js";
