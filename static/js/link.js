// How much goes over the link at once: by how fast it was so far. A weak one gets little at a time,
// so that a cut costs little; a good one much, so that few answers are waited for.

const LEAST = 4_000;
const MOST = 400_000;
const QUICK = 2_000;
const SLOW = 6_000;

let size = 24_000;

/** Characters to send, and as many to ask for, in one request. */
export const linkSize = () => size;

/** A request took so long (ms). */
export function linkTook(time) {
  if (time < QUICK) size = Math.min(size * 2, MOST);
  else if (time > SLOW) size = Math.max(size / 2, LEAST);
}

/** A request got nowhere. */
export function linkFailed() {
  size = Math.max(size / 4, LEAST);
}
