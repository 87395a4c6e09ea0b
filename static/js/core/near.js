// How near what was typed comes to a name: letters left out, doubled, swapped or mistaken, also at
// the beginning of a name that is not typed to its end.

/** A name as it is compared: small letters and digits alone; all of it, its words, and these in one.
    @typedef {{whole: string, words: string[], joined: string}} Key */

/** Gives how near a name is to what is sought: 0 is nearest, null too far off.
    @param {Key} sought
    @returns {(name: Key) => number | null} */
export function nearnessTo(sought) {
  const joined = farnessFrom(sought.joined);
  const words = sought.words.map(farnessFrom);
  return (name) => {
    const whole = joined(name.joined);
    let each = 0;
    for (const far of words) {
      const found = name.words.map(far).filter((slips) => slips !== null);
      if (!found.length) return whole;
      each += Math.min(...found);
    }
    // Found word by word, in a name that has more of them, is less sure than found as a whole.
    const apart = each + Math.max(0, name.words.length - words.length) / 4;
    return whole === null ? apart : Math.min(whole, apart);
  };
}

/** How many slips a word of so many letters is believed to hold. */
const believed = (length) => [0, 0, 0, 0, 1, 1, 2, 2][length] ?? 3;

/** Gives the slips between `typed` and a word, or a beginning of the word, which counts half a slip
    more; null for more than are believed. Words come again in many names, and so are kept. */
function farnessFrom(typed) {
  const most = believed(typed.length);
  const letters = [...new Set(typed)];
  const known = new Map();
  return (word) => {
    if (!known.has(word)) {
      const lacks = letters.filter((letter) => !word.includes(letter)).length;
      known.set(word, lacks > most ? null : farness(typed, word, most));
    }
    return known.get(word);
  };
}

function farness(typed, word, most) {
  const slips = lastRow(typed, word, most);
  if (!slips) return null;
  const whole = slips[word.length] ?? Infinity;
  const begun = Math.min(...slips.slice(0, word.length)) + 0.5;
  const least = Math.min(whole, begun);
  return least <= most + 0.5 ? least : null;
}

/** The slips between `typed` and each beginning of `word`, told by its length; null once all are over
    `most`. A slip is a letter left out, put in or mistaken, or two swapped. */
function lastRow(typed, word, most) {
  const reach = Math.min(word.length, typed.length + most);
  let before = [];
  let last = Array.from({ length: reach + 1 }, (_, place) => place);
  for (let row = 1; row <= typed.length; row += 1) {
    const next = [row];
    let least = row;
    for (let place = 1; place <= reach; place += 1) {
      const mistaken = typed[row - 1] === word[place - 1] ? 0 : 1;
      let slips = Math.min(last[place] + 1, next[place - 1] + 1, last[place - 1] + mistaken);
      const swapped = row > 1 && place > 1 && typed[row - 1] === word[place - 2] && typed[row - 2] === word[place - 1];
      if (swapped) slips = Math.min(slips, before[place - 2] + 1);
      next.push(slips);
      least = Math.min(least, slips);
    }
    if (least > most) return null;
    before = last;
    last = next;
  }
  return last;
}
