// Which of the sentences about heat are about one dog. Pure; it claims nothing that the book does not say.

const HEAVY = 50; // kg
const GROWN = 2; // years

/** The risks of a dog, those about it first: those for every dog, and those for its face, age and weight
    where they are known. `kg` is its weight, `born` its day of birth, each null where nobody knows it.
    @param {any[]} risks */
export function risksOf(risks, { isShort, born, kg, today }) {
  const holds = {
    "short-faced": isShort === true,
    "over two years": Boolean(born) && yearsOn(born, GROWN) < today,
    "over 50 kg": kg != null && kg > HEAVY,
  };
  return [...risks.filter(({ whom }) => whom && holds[whom]), ...risks.filter(({ whom }) => !whom)];
}

const yearsOn = (day, years) => `${String(Number(day.slice(0, 4)) + years).padStart(4, "0")}${day.slice(4)}`;
