// Sentences by name: a rule names one and what stands in it, the words came with the rules. The same
// as ringside/domain/says.py; tests/vectors/rules/says.json holds the two together.

/** Words as they are, {says: name, ...what stands in it}, or a list of them.
    @typedef {string | number | { says: string, [blank: string]: any } | any[]} Saying */

/** A saying as a person reads it, those of a list with a space between.
    @param {Record<string, string>} table
    @param {Saying} saying
    @returns {string} */
export function sentence(table, saying) {
  if (Array.isArray(saying))
    return saying
      .map((one) => sentence(table, one))
      .filter(Boolean)
      .join(" ");
  if (typeof saying !== "object") return String(saying);
  return wordsOf(table, saying.says).replace(/\{(\w+)\}/g, (_, name) => sentence(table, wordsOf(saying, name)));
}

function wordsOf(held, name) {
  if (!Object.hasOwn(held, name)) throw new Error(`There is no ${name} to say.`);
  return held[name];
}
