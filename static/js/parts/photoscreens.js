// What is loaded only when photos are marked and measured, in one.

export { markScreen } from "./photomark.js";
export { proportionsScreen } from "./proportions.js";
