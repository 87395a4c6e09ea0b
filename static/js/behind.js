// What comes behind the first screen, in one: all other screens, and what goes on in the background.

export { start } from "./background.js";
export * as views from "./views.js";
