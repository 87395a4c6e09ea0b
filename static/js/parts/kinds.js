// The kinds of record in words.

/** What each kind of record is called. */
export const KINDS = {
  dog: "Dog",
  note: "Private note",
  cue: "Own cue",
  ask: "Own ask",
  order: "Order",
  practice: "Practice mark",
  floor: "Stack or lead practice",
  drill: "Thing to learn",
  walk: "Walk",
  tick: "Tick",
  show: "Show",
  entry: "Entry",
  gate: "Gate check",
  kit: "Kit",
  measure: "Measure",
  score: "Condition score",
  state: "State of the dog",
  check: "Check",
  result: "Result",
  lesson: "Lesson of a result",
  award: "Award",
  title: "Title held",
};
