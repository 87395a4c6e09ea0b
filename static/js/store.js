// The phone's own store, for the screens and the sync.

export { onChange } from "./store/news.js";
export * from "./store/read.js";
export * from "./store/write.js";
export * from "./store/exchange.js";
export * from "./store/drafts.js";
export { endAnew } from "./store/anew.js";
