// Advice on a microchip number as typed; the same as ringside/domain/microchip.py, where it is
// explained. `codes` came with the app. tests/vectors/rules/chip.json holds the two together.

/** {fine, message}. It only advises: what was typed is kept as it is. */
export function checkChip(number, codes) {
  const { number: shape } = codes;
  const typed = bare(number);
  if (!typed) return wrong("No number was typed.");
  const strange = [...new Set([...typed].filter((sign) => !"0123456789".includes(sign)))].sort(
    (one, other) => one.codePointAt(0) - other.codePointAt(0),
  );
  if (strange.length) {
    const signs = strange.join(", ");
    return wrong(
      strange.length === 1 && /\p{L}/u.test(strange[0])
        ? `Use digits only; this has a letter: ${signs}.`
        : `Use digits only; this has: ${signs}.`,
    );
  }
  if (typed.length !== shape.digits) {
    const short = shape.digits - typed.length;
    const differs = short > 0 ? `${short} missing` : `${-short} too many`;
    const digits = typed.length === 1 ? "digit" : "digits";
    return wrong(`This has ${typed.length} ${digits}; an ISO number has ${shape.digits} (${differs}).`);
  }
  return parts(typed, codes);
}

const wrong = (message) => ({ fine: false, message });

/** A number without what people put between its digits. */
export const bare = (number) =>
  number
    .normalize("NFKC")
    .replace(/[\s.·/_\p{Pd}\p{Cf}\p{Cc}]/gu, "")
    .toUpperCase();

function parts(digits, { number: shape, country, maker }) {
  const code = digits.slice(0, shape.prefix);
  const animal = Number(digits.slice(shape.prefix));
  if (Number(code) === shape.test_code)
    return wrong(`${code} marks chips made for tests; no animal has such a number.`);
  let origin;
  if (Number(code) >= shape.maker_from) {
    if (Number(code) === shape.shared_maker) origin = `code ${code}, which several makers share`;
    else origin = maker[code] ? `maker ${maker[code]} (${code})` : `code ${code} of a maker we cannot name`;
  } else {
    if (!country[code]) return wrong(`It begins with ${code}, which is not a country code (ISO 3166-1).`);
    origin = `${country[code]} (${code})`;
  }
  if (animal > shape.national_max)
    return wrong(`After ${code} comes ${animal}; the highest possible is ${shape.national_max}.`);
  return { fine: true, message: `Looks right: ${origin}.` };
}
