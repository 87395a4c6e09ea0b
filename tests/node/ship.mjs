// Makes what is shipped of the scripts: node ship.mjs MODULES-FOLDER STATIC TARGET. Rollup shares the
// modules out among few files, and terser shortens each; both stand below the folder MODULES-FOLDER.
//
// A file costs a request, and what is squeezed with its like is smaller: so all that the first screen
// begins with is one file, the drawing of dogs one, all that a show needs beside these one. The screens that
// come later may begin with any of them, for they are there by then.

import { mkdirSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join, resolve } from "node:path";

const [packages, from, target] = process.argv.slice(2);
const require = createRequire(resolve(packages, "-"));
const { rollup } = require("rollup");
const { minify } = require("terser");

const module = (name) => join(from, "js", name);
const DRAWING = module("core/figure.js");

const told = [];
const share = new Map(); // {module: file}
const bundle = await rollup({ input: module("main.js"), onwarn: (warning) => told.push(warning.message) });
const { output } = await bundle.generate({
  format: "es",
  dir: target,
  entryFileNames: "[name].js",
  chunkFileNames: "[name]-[hash].js",
  manualChunks: (id, { getModuleInfo }) => shareOf(getModuleInfo).get(id),
  onlyExplicitManualChunks: true,
  hoistTransitiveImports: false,
});
if (told.length) throw new Error(told.join("\n"));
mkdirSync(target, { recursive: true });
for (const { fileName, code } of output) {
  const short = await minify(code, {
    module: true,
    ecma: 2020,
    compress: { module: true },
    format: { ecma: 2020 },
  });
  writeFileSync(join(target, fileName), `${short.code}\n`);
}

/** Which file a module goes into: the first of these that needs it. */
function shareOf(getModuleInfo) {
  if (share.size) return share;
  const take = (id, name) => {
    if (share.has(id)) return;
    share.set(id, name);
    for (const other of getModuleInfo(id).importedIds) take(other, name);
  };
  take(module("main.js"), "main");
  take(DRAWING, "figure");
  take(module("behind.js"), "behind");
  return share;
}
