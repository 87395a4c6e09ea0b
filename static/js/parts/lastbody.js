// The body whose rules were used last: most people show under one.

import * as store from "../store.js";

/** The body of the newest record of `kind` ("dog" or "show"), or of the other kind; FCI at first. */
export async function lastBody(kind) {
  const newest = await Promise.all(["dog", "show"].map((one) => store.newest(one, "", 1)));
  const [dog, show] = newest.map(([row]) => row?.values.body);
  return (kind === "dog" ? (dog ?? show) : (show ?? dog)) ?? "FCI";
}
