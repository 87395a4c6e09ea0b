// The screens for home, a line each: a phone keeps them after those that a show needs.

export * as awards from "./views/awards.js";
export * as book from "./views/book.js";
export * as calendar from "./views/calendar.js";
export * as checks from "./views/checks.js";
export * as countdown from "./views/countdown.js";
export * as ear from "./views/ear.js";
export * as elsewhere from "./views/elsewhere.js";
export * as enter from "./views/enter.js";
export * as floor from "./views/floor.js";
export * as judge from "./views/judge.js";
export * as learn from "./views/learn.js";
export * as litter from "./views/litter.js";
export * as measures from "./views/measures.js";
export * as order from "./views/order.js";
export * as practice from "./views/practice.js";
export * as print from "./views/print.js";
export * as record from "./views/record.js";
export * as rehearse from "./views/rehearse.js";
export * as removed from "./views/removed.js";
export * as result from "./views/result.js";
export * as round from "./views/round.js";
export * as settings from "./views/settings.js";
export * as showform from "./views/showform.js";
export * as sources from "./views/sources.js";
export * as title from "./views/title.js";
export * as words from "./views/words.js";
