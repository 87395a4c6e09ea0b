// The screens that a show needs, and all that a new phone needs at once, a line each.

export * as card from "./views/card.js";
export * as clock from "./views/clock.js";
export * as clockset from "./views/clockset.js";
export * as dog from "./views/dog.js";
export * as dogform from "./views/dogform.js";
export * as gate from "./views/gate.js";
export * as heat from "./views/heat.js";
export * as note from "./views/note.js";
export * as pairing from "./views/pairing.js";
export * as ring from "./views/ring.js";
export * as ringstart from "./views/ringstart.js";
export * as shows from "./views/shows.js";
export * as station from "./views/station.js";
