// The screens that photos are taken, marked and read on, a line each: loaded when one of them is opened.

export * as mark from "./views/mark.js";
export * as photo from "./views/photo.js";
export * as photos from "./views/photos.js";
export * as proportions from "./views/proportions.js";
export * as shot from "./views/shot.js";
