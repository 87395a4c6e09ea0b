// Where a ruling about entry comes from, in words.

const CAVEATS = { memory: "Written from memory.", secondary: "Read in a second-hand account." };
const NAMES = { memory: "from memory", secondary: "second-hand" };

/** Where a ruling comes from: {name} for its face, {words} one tap away. */
export function sourceOf({ clause, edition, read, note = "" }) {
  return {
    name: NAMES[read] ? `${clause} (${NAMES[read]})` : clause,
    words: [`${clause}; ${edition}.`, CAVEATS[read], note].filter(Boolean).join(" "),
  };
}
