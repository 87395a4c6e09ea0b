// UUIDs of version 7 (RFC 9562, section 5.7): 48 bits of time, the rest chance.

export function uuid7(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let place = 0, rest = now; place < 6; place += 1) {
    bytes[5 - place] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** The id of what two phones may both begin, made from its `words`: a UUID of version 8 (RFC 9562,
    section 5.8), four times 32 bits of FNV-1a. No secret, and the same on every phone. */
export function idOf(words) {
  const bytes = new TextEncoder().encode(words);
  const hex = [0, 1, 2, 3].map((turn) => hash(bytes, 0x811c9dc5 ^ (turn * 0x9e3779b9))).join("");
  const versioned = `${hex.slice(0, 12)}8${hex.slice(13, 16)}8${hex.slice(17)}`;
  return versioned.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

function hash(bytes, begin) {
  let sum = begin;
  for (const byte of bytes) sum = Math.imul(sum ^ byte, 0x01000193);
  sum = Math.imul(sum ^ (sum >>> 16), 0x85ebca6b);
  return ((sum ^ (sum >>> 13)) >>> 0).toString(16).padStart(8, "0");
}
