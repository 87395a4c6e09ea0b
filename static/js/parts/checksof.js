// How the checks of one dog stand today: shared by its page and the screen of its checks.

import { due, TESTES } from "../core/puppies.js";
import { localDay } from "../core/words.js";
import { careBook } from "../shipped.js";
import * as store from "../store.js";

/** {care, kept, rows}: what is checked and when, the records of this dog, and each check as `due`
    gives it, what is due first; no rows without a day of whelping. */
export async function checksOf(dog) {
  const [care, kept] = await Promise.all([careBook(), store.about("check", dog.id)]);
  const { born, sex, testes, testes_on: day } = dog.values;
  // What stands on the dog's own record was felt, too.
  const records = [{ what: TESTES, found: testes, day }, ...kept.map((row) => row.values)];
  const rows = born ? due(care.checks, care.looks, { born, sex, records, today: localDay() }) : [];
  return { care, kept, rows };
}
