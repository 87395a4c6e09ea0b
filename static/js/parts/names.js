// What things are called, also where nobody has written a name yet.

const named = (words, instead) => words?.trim() || instead;

/** A dog's name where it stands for itself, on a list or as a title. */
export const listedName = ({ values }) => named(values.name, "No name yet");

/** A dog's name within other words. */
export const dogName = ({ values }) => named(values.name, "The dog");
export const showName = ({ values }) => named(values.name, "A show without a name");
export const orderName = ({ values }) => named(values.label, "An order without a name");

/** What a kind of record (its declaration) is called, at the head of a line. */
export const kindName = ({ words }) => words.charAt(0).toUpperCase() + words.slice(1);
