// Files of looked-up data that came with the app. Precached with its build, so they need no signal.

const loading = new Map();

/** The file `name`.json, parsed; read once. */
export function shipped(name) {
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
