// How a card is laid onto one sheet that is folded in half three times: eight panels, read down the
// left half and then down the right. Pure: heights in, places out.

export const PANELS = 8;

// Where Letter is the usual paper (Unicode CLDR, supplemental data on paper sizes; from memory).
const LETTER = "BZ CA CL CO CR GT MX NI PA PH PR SV US VE".split(" ");

/** "letter" or "a4": the usual paper where a language such as "en-US" is spoken; without a place A4. */
export function paperOf(language) {
  const place = String(language ?? "")
    .split("-")
    .find((part) => /^[A-Z]{2}$/.test(part));
  return place && LETTER.includes(place) ? "letter" : "a4";
}

/** Lay lines onto panels of height `room`. A line is {height, group, head, rank}: those of one `group`
    stay together where they can, a `head` never stands last, and of a `rank` over 0 it is left out
    where all is too much, the highest rank and then the tallest first. The first group has the first
    panel for itself where that leaves room enough. Gives {panels: [[place, ...], ...], left: [place, ...]}.
    @param {{height: number, group: string, head?: boolean, rank?: number}[]} lines
    @param {number} room
    @param {number} most panels */
export function layOut(lines, room, most = PANELS) {
  const places = lines.map((_, place) => place);
  const ranked = places.filter((place) => lines[place].rank).sort((one, other) => leave(lines[one], lines[other]));
  const without = (left) => ways(lines, places, left, room).find((panels) => panels.length <= most);
  for (let gone = 0; gone <= ranked.length; gone += 1) {
    if (without(ranked.slice(0, gone))) return filled(ranked.slice(0, gone), without);
  }
  // What then has no room on the last panel is left out as well: told of, never cut off unseen.
  const panels = ways(lines, places, ranked, room)[2];
  return { panels: panels.slice(0, most), left: [...ranked, ...panels.slice(most).flat()] };
}

const leave = (one, other) => other.rank - one.rank || other.height - one.height;

/** What was left out for others' sake comes back where there is room, what was left out last first. */
function filled(left, without) {
  const stay = [...left].reverse().reduce((out, place) => {
    const less = out.filter((one) => one !== place);
    return without(less) ? less : out;
  }, left);
  return { panels: without(stay), left: stay };
}

/** The panels of all but `left`, the best way first. */
function ways(lines, places, left, room) {
  const kept = places.filter((place) => !left.includes(place));
  const whole = together(lines, kept);
  return [
    pack(lines, whole, room, true),
    pack(lines, whole, room, false),
    pack(lines, apart(lines, kept), room, false),
  ];
}

/** Lines in blocks by their group; what cannot stay on one panel is broken by `pack`. */
function together(lines, kept) {
  const blocks = [];
  for (const place of kept) {
    const last = blocks.at(-1);
    if (last && lines[last[0]].group === lines[place].group) last.push(place);
    else blocks.push([place]);
  }
  return blocks;
}

/** Each line by itself, with the heads above it. */
function apart(lines, kept) {
  const blocks = [];
  for (const place of kept) {
    const last = blocks.at(-1);
    if (last && lines[last.at(-1)].head) last.push(place);
    else blocks.push([place]);
  }
  return blocks;
}

function pack(lines, blocks, room, alone) {
  /** @type {number[][]} */
  const panels = [[]];
  let used = 0;
  const put = (block) => {
    const height = block.reduce((sum, place) => sum + lines[place].height, 0);
    if (used && used + height > room) {
      panels.push([]);
      used = 0;
    }
    panels[panels.length - 1].push(...block);
    used += height;
  };
  const tall = (block) => block.reduce((sum, place) => sum + lines[place].height, 0) > room;
  for (const [number, block] of blocks.entries()) {
    for (const part of tall(block) ? apart(lines, block) : [block]) put(part);
    if (alone && number === 0) used = room;
  }
  return panels;
}
