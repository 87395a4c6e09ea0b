// What came with the app: the knowledge every screen looks things up in, precached with its build.

import * as store from "./store.js";

const loading = new Map();

/** A file that came with the app. Precached with its build, so this needs no signal.
    @param {(data: any) => void} ready takes what was read, once */
function shipped(name, ready = () => {}) {
  if (!loading.has(name)) {
    const data = (async () => {
      const answer = await fetch(new URL(`../${name}.json`, import.meta.url));
      if (!answer.ok) throw new Error("A part of the app is missing; open it once with a signal.");
      const parsed = await answer.json();
      ready(parsed);
      return parsed;
    })();
    data.catch(() => loading.delete(name));
    loading.set(name, data);
  }
  return loading.get(name);
}

/** {fields, general, breeds}: what every screen needs. */
export const knowledge = () => shipped("knowledge", (data) => store.declare(data.fields));

/** {windows, awards, gate, chips}: what is the same for all dogs about classes, awards, the gate. */
export const rulesBook = () => shipped("rules");

/** {sources, common, memory}: where everything comes from. */
export const sourcesBook = () => shipped("sources");

export async function breedOf(dog) {
  const { breeds } = await knowledge();
  return breeds.find((breed) => breed.id === dog.values.breed) ?? null;
}

export async function breedName(dog) {
  return (await breedOf(dog))?.name ?? dog.values.breed ?? "";
}
