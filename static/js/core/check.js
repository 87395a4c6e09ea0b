// Checks a value against the declaration that the book gave out (ringside/book/kinds/fields.py), with the
// same rules, so that what cannot be kept is refused where it is typed. Returns why, or null.
// tests/vectors/check.json holds the two together.

const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;
const DAY = /^[0-9]{4}-[0-9]{2}-[0-9]{2}$/;
const INSTANT = /^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z$/;
// oxlint-disable-next-line no-control-regex
const CONTROL = /[\u0000-\u001f\u007f]/;

const CHECKS = {
  words: (value, { most }) => {
    if (typeof value !== "string") return "must be text";
    const length = [...value].length;
    if (length > most) return `has ${length} characters; shorten it to ${most}`;
    if (CONTROL.test(value)) return "holds a line break or control character; keep it to one line";
    return unstorable(value);
  },
  text: (value, { bytes }) => {
    if (typeof value !== "string") return "must be text";
    const reason = unstorable(value);
    if (reason) return reason;
    const size = new TextEncoder().encode(value).length;
    return size > bytes ? `has ${size} bytes; the limit is ${bytes}: split it into two` : null;
  },
  choice: (value, { of }) => (of.includes(value) ? null : `must be one of: ${of.join(", ")}`),
  day: (value) => {
    if (typeof value !== "string" || !DAY.test(value)) return "must be a day such as 2026-03-14";
    return isDay(value) ? null : `there is no day ${value}`;
  },
  instant: (value) => {
    if (typeof value !== "string" || !INSTANT.test(value)) {
      return "must be a moment in UTC such as 2026-03-14T09:30:00.000Z";
    }
    const real = isDay(value.slice(0, 10)) && !Number.isNaN(Date.parse(value)) && value.slice(11, 13) < "24";
    return real ? null : `there is no moment ${value}`;
  },
  number: (value, { most }) => {
    if (typeof value !== "number") return "must be a number";
    return value >= 0 && value <= most ? null : `must be from 0 to ${most}`;
  },
  flag: (value) => (typeof value === "boolean" ? null : "must be true or false"),
  ref: (value) =>
    typeof value === "string" && UUID.test(value) ? null : "must be the id of a record (a UUID in lower case)",
  list: (value, { most }) => {
    if (!Array.isArray(value) || !value.every((item) => typeof item === "string")) return "must be a list of words";
    if (value.length > most || value.some((item) => [...item].length > 40)) {
      return `may hold at most ${most} words of 40 characters`;
    }
    return value.map(unstorable).find(Boolean) ?? null;
  },
};

export function problem(declared, value) {
  if (value === null) return null;
  return CHECKS[declared.type](value, declared);
}

function isDay(text) {
  const day = new Date(`${text}T00:00:00Z`);
  return text >= "0001" && !Number.isNaN(day.getTime()) && day.toISOString().slice(0, 10) === text;
}

function unstorable(value) {
  if (value.includes("\0")) return "holds a NUL character; remove it";
  const whole = value.replace(/[\ud800-\udbff][\udc00-\udfff]/g, "");
  return /[\ud800-\udfff]/.test(whole) ? "holds half a character (a lone surrogate); type it again" : null;
}
