// When to ask a thing again: FSRS 6 with its published default weights, in whole days. Our own port,
// held to the package `fsrs` by tests/vectors/fsrs.json. Left out of it: learning steps within a day
// (mistakes return inside the round), and chance in the intervals.

const W = [
  0.212, 1.2931, 2.3065, 8.2956, 6.4133, 0.8334, 3.0194, 0.001, 1.8722, 0.1666, 0.796, 1.4835, 0.0614, 0.2629, 1.6483,
  0.6014, 1.8729, 0.5425, 0.0912, 0.0658, 0.1542,
];
const DECAY = -W[20];
const FACTOR = 0.9 ** (1 / DECAY) - 1;
const KEEP = 0.9; // the chance of knowing it that an interval ends at
const LEAST_STABILITY = 0.001;
const LONGEST = 36_500; // days
const DAY = 86_400_000;

const between = (least, value, most) => Math.min(Math.max(value, least), most);

/** The chance of knowing it after so many whole days. */
export const recall = (stability, days) => (1 + (FACTOR * days) / stability) ** DECAY;

/** Whole days until that chance has fallen to 90 %. */
export function interval(stability) {
  return between(1, even((stability / FACTOR) * (KEEP ** (1 / DECAY) - 1)), LONGEST);
}

// Python rounds ties to the even number, and so must we.
function even(number) {
  const down = Math.floor(number);
  if (number - down !== 0.5) return Math.round(number);
  return down % 2 === 0 ? down : down + 1;
}

const firstDifficulty = (grade) => W[4] - Math.exp(W[5] * (grade - 1)) + 1;

/** What is remembered of a thing after an answer: {stability (days), difficulty (1 to 10)}.
    @param {{stability: number, difficulty: number} | null} was  before it; null for the first answer
    @param {number} grade  1 wrong, 2 right with help or slowly, 3 right, 4 easy
    @param {number} days  whole days since the answer before */
export function answered(was, grade, days) {
  if (!was) {
    return {
      stability: Math.max(W[grade - 1], LEAST_STABILITY),
      difficulty: between(1, firstDifficulty(grade), 10),
    };
  }
  const stability = days < 1 ? sameDay(was.stability, grade) : later(was, grade, recall(was.stability, days));
  return { stability: Math.max(stability, LEAST_STABILITY), difficulty: harder(was.difficulty, grade) };
}

function harder(difficulty, grade) {
  const moved = difficulty - (W[6] * (grade - 3) * (10 - difficulty)) / 9;
  return between(1, W[7] * firstDifficulty(4) + (1 - W[7]) * moved, 10);
}

function sameDay(stability, grade) {
  const grown = Math.exp(W[17] * (grade - 3 + W[18])) * stability ** -W[19];
  return stability * (grade > 1 ? Math.max(grown, 1) : grown);
}

function later({ stability, difficulty }, grade, known) {
  if (grade === 1) {
    const left = W[11] * difficulty ** -W[12] * ((stability + 1) ** W[13] - 1) * Math.exp(W[14] * (1 - known));
    return Math.min(left, stability / Math.exp(W[17] * W[18]));
  }
  const grown = Math.exp(W[8]) * (11 - difficulty) * stability ** -W[9] * (Math.exp(W[10] * (1 - known)) - 1);
  return stability * (1 + grown * (grade === 2 ? W[15] : 1) * (grade === 4 ? W[16] : 1));
}

/** Whole days of 24 hours between two moments. */
export const wholeDays = (from, to) => Math.max(0, Math.floor((Date.parse(to) - Date.parse(from)) / DAY));
