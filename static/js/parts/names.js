// What things are called, also where nobody has written a name yet.

const named = (words, instead) => words?.trim() || instead;

export const dogName = ({ values }) => named(values.name, "The dog");
export const showName = ({ values }) => named(values.name, "A show without a name");
export const orderName = ({ values }) => named(values.label, "An order without a name");
