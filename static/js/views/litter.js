// A litter, entered at once: one breed, one day, and a working name for each puppy.

import { dayProblem } from "../core/bounds.js";
import { breedNamed } from "../core/breeds.js";
import { few, localDay } from "../core/words.js";
import { clone, fill, icon, part, say } from "../dom.js";
import { onSave } from "../forms.js";
import { breedField } from "../parts/breedfield.js";
import { lastBody } from "../parts/lastbody.js";
import { go } from "../router.js";
import { kinds, namedBreeds, rulesBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "litter/new": litter };

const MOST = 20;
const SEXES = { dogs: { sex: "dog", word: "Dog" }, bitches: { sex: "bitch", word: "Bitch" } };

async function litter() {
  const [breeds, { dog: declared }, { bounds }, body] = await Promise.all([
    namedBreeds(),
    kinds(),
    rulesBook(),
    lastBody("dog"),
  ]);
  const node = fill(clone("litter"), { back: icon("back") });
  const form = /** @type {any} */ (part(node, "form"));
  form.elements.born.max = localDay();
  form.elements.body.value = body;
  const { name, ...fields } = declared.fields;
  const counted = { type: "number", most: MOST };
  const names = ["breed", "born", "body", "dogs", "bitches"];
  for (const group of Object.keys(SEXES)) form.elements[group].addEventListener("input", () => offerNames(group));
  await onSave(
    node,
    form,
    names,
    { ...fields, dogs: counted, bitches: counted },
    {
      missing: { breed: "Write the breed of the dam, or pick one from the list.", born: "Enter the day of whelping." },
      draft: "litter",
      extra: (values) => problems(values),
      save: async (values) => {
        const puppies = puppiesOf(values);
        await store.writeAll(puppies.map((each) => ({ kind: "dog", id: null, values: each })));
        say(`${few(puppies.length, "puppy", "puppies")} saved.`);
        go("");
      },
    },
  );
  for (const group of Object.keys(SEXES)) offerNames(group);
  breedField(node, form.elements.breed, breeds, () => {});

  /** As many fields for names as puppies; what was typed stays. */
  function offerNames(group) {
    const place = part(node, `${group}-names`);
    const many = Math.min(Math.max(Math.floor(Number(form.elements[group].value)) || 0, 0), MOST);
    while (place.childElementCount > many) place.lastElementChild.remove();
    while (place.childElementCount < many)
      place.append(nameField(SEXES[group].word, place.childElementCount + 1, name));
  }

  const typed = (group) => [...part(node, `${group}-names`).querySelectorAll("input")].map((one) => one.value.trim());

  function puppiesOf({ breed, born, body: rules }) {
    const id = breedNamed(breeds, breed)?.id ?? breed;
    return Object.entries(SEXES).flatMap(([group, { sex, word }]) =>
      typed(group).map((words, place) => ({
        name: words || `${word} ${place + 1}`,
        breed: id,
        sex,
        born,
        ...(rules && { body: rules }),
      })),
    );
  }

  /** @returns {Promise<Record<string, string | {ask: string}>>} */
  async function problems(values) {
    const reason = dayProblem(bounds, values.born, { today: localDay() });
    if (reason) return { born: reason };
    for (const group of Object.keys(SEXES))
      if (!Number.isInteger(values[group] ?? 0)) return { [group]: `Write a whole number, up to ${MOST}.` };
    if (!values.dogs && !values.bitches) return { dogs: "Write how many dogs and bitches there are." };
    const breed = breedNamed(breeds, values.breed ?? "")?.id ?? values.breed;
    const there = (await store.all("dog")).filter(
      (dog) => dog.values.born === values.born && dog.values.breed === breed,
    );
    return there.length
      ? {
          born: {
            ask: `${few(there.length, "dog")} of this breed, born that day, ${there.length === 1 ? "is" : "are"} here already.`,
          },
        }
      : {};
  }

  return { node, title: "New litter" };
}

function nameField(word, number, { most }) {
  const node = fill(clone("puppy-name"), { label: `${word} ${number}` });
  const input = node.querySelector("input");
  if (input) input.maxLength = most;
  return node;
}
