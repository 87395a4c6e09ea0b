// Which of the sentences about heat are about one dog, as ringside/domain/heat.py; it claims nothing that the
// book does not say. Both are held to the same answers by tests/vectors/rules/heat.json.

/** The risks of a dog, those about it first: those for every dog, and those for its face, age and weight
    where they are known. `kg` is its weight, `born` its day of birth, each null where nobody knows it.
    @param {any[]} risks */
export function risksOf(risks, { isShort, born, kg, today }) {
  const holds = {
    short_faced: () => isShort === true,
    over_years: (years) => Boolean(born) && yearsOn(born, years) < today,
    over_kg: (most) => kg != null && kg > most,
  };
  const found = risks.map((risk) => ({
    risk,
    held: Object.keys(holds).flatMap((what) => (what in risk ? holds[what](risk[what]) : [])),
  }));
  const about = found.filter(({ held }) => held.length && held.every(Boolean));
  return [...about, ...found.filter(({ held }) => !held.length)].map(({ risk }) => risk);
}

const yearsOn = (day, years) => `${String(Number(day.slice(0, 4)) + years).padStart(4, "0")}${day.slice(4)}`;
