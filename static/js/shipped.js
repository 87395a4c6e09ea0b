// What came with the app: the knowledge that screens look things up in, precached with its build, so
// that it needs no signal.

const loading = new Map();

/** The file `name`.json, parsed; read once. */
function shipped(name) {
  if (!loading.has(name)) {
    const data = read(name);
    data.catch(() => loading.delete(name));
    loading.set(name, data);
  }
  return loading.get(name);
}

async function read(name) {
  const answer = await fetch(new URL(`../${name}.json`, import.meta.url));
  if (!answer.ok) throw new Error("A part of the app is missing; open it once with a signal.");
  return answer.json();
}

/** {kind: declaration} of all kinds of record (ringside/book/kinds). */
export const kinds = () => shipped("kinds");

/** {general, breeds}: what every screen needs. */
export const knowledge = () => shipped("knowledge");

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
