// Rehearsing by ear: what the phone says at each step and how long it waits, and an order that an
// unknown judge may take. Pure but for the chance it is given (`chance()` from 0 to 1).

const LEAST = 3; // seconds

/** Seconds that a judge of this body gives each station: its minutes a dog, over all `count` of them. */
export function paceOf(known, body, count) {
  const pace = known.pace.find((one) => one.body === body) ?? known.pace[0];
  return { seconds: Math.max(LEAST, Math.round((pace.minutes * 60) / Math.max(count, 1))), pace };
}

/** What the judge says at a station. */
export const callAt = (known, station) =>
  known.call.find((one) => one.station === station.id)?.says ?? `${station.name}.`;

/** `stations` (ids) as a judge nobody knows may take them: those that judges take in any order change
    places among themselves, all others stay. */
export function unknownOrder(known, stations, chance) {
  const order = [...stations];
  for (const { stations: free } of known.turn) {
    const places = order.flatMap((id, place) => (free.includes(id) ? [place] : []));
    const left = places.map((place) => order[place]);
    for (const place of places) [order[place]] = left.splice(Math.floor(chance() * left.length), 1);
  }
  return order;
}

/** A source of chance that gives the same again from the same seed: numbers from 0 to 1. */
export function chanceFrom(seed) {
  // Marsaglia's xorshift, 2003. It may not begin at nought, and begins slowly near it.
  let state = Math.imul(seed + 1, 0x9e3779b1) >>> 0 || 1;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) / 2 ** 32;
  };
}
