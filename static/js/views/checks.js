// Checks by age: what a puppy is looked over for now, what was found, and what is to come.

import { sayDay } from "../core/days.js";
import { TESTES } from "../core/puppies.js";
import { age, localDay } from "../core/words.js";
import { clone, fill, icon, on, part, say, text } from "../dom.js";
import { checksOf } from "../parts/checksof.js";
import { rowsOf } from "../parts/guard.js";
import { lineNode } from "../parts/lines.js";
import { dogName } from "../parts/names.js";
import * as store from "../store.js";

export const routes = { "dog/:id/checks": checks };

const MARKS = { due: "open", open: "caution", coming: "onward", done: "done", past: "skipped" };
const GROUPS = { due: "due", open: "due", coming: "coming", done: "done", past: "past" };
const OF_TESTES = { both: "Both down", one: "One down", none: "None felt" };
const FOUND = { ...OF_TESTES, "not yet": "Not yet", "ask the vet": "For the vet" };

async function checks({ id }) {
  const dog = await store.get("dog", id);
  if (!dog || dog.values.deleted) return null;
  const { born } = dog.values;
  const node = fill(clone("checks"), { back: icon("back"), about: aboutDog(dog) });
  part(node, "back").href = `#/dog/${id}`;
  part(node, "edit").href = `#/dog/${id}/edit`;
  part(node, "edit").hidden = Boolean(born);

  async function keep(what, found) {
    await store.write("check", null, { dog: id, what, found, day: localDay() });
    say("Saved.");
    await draw();
  }

  async function draw() {
    const { care, kept, rows } = await checksOf(dog);
    const drawn = rowsOf(rows, (row) => checkNode(care, row, keep));
    const of = (group) => drawn.filter((_, place) => GROUPS[rows[place].state] === group);
    for (const group of new Set(Object.values(GROUPS))) {
      fill(node, { [group]: of(group) });
      part(node, `${group}-part`).hidden = of(group).length === 0;
    }
    fill(node, {
      none: born && !of("due").length ? "Nothing is due today." : "",
      list: rowsOf([...kept].reverse(), (row) => keptRow(care, row, draw)),
    });
    part(node, "kept-part").hidden = kept.length === 0;
  }
  await draw();
  return { node, title: `Checks: ${dogName(dog)}` };
}

function aboutDog(dog) {
  const { born } = dog.values;
  return born
    ? `${dogName(dog)}, ${age(born)}. What is not as it should be is for the vet.`
    : "Enter the date of birth to see what is due and when.";
}

function checkNode(care, { check: key, state, look: lookId, day, last }, keep) {
  const check = care.checks.find(({ id }) => id === key);
  const look = care.looks.find(({ id }) => id === lookId);
  const answers =
    check.id === TESTES ? OF_TESTES : { good: check.good, "not yet": "Not yet", "ask the vet": "For the vet" };
  const about = [
    look && lineNode(care, look, { words: look.says }),
    lineNode(care, check, { words: check.says }),
    lineNode(care, check, { mark: "caution", words: check.vet }),
    ...care.lines.filter((line) => line.about === check.id).map((line) => lineNode(care, line, { words: line.says })),
  ].filter(Boolean);
  const node = fill(clone("check-row"), {
    icon: icon(MARKS[state]),
    name: check.name,
    when: whenWords(state, day, last, check),
    lead: state === "due" && look ? look.says : null,
    answers: Object.entries(answers).map(([found, words]) => answer(words, check, () => keep(check.id, found))),
    lines: about,
  });
  // What is due is answered by one tap.
  if (state === "due") part(node, "answers-part").replaceWith(part(node, "answers"));
  return node;
}

function whenWords(state, day, last, check) {
  const found = last && `${foundWords(last.found, check)}, ${sayDay(last.day)}`;
  const when =
    { due: `due since ${day && sayDay(day)}`, past: "not written down" }[state] ?? (day && `again from ${sayDay(day)}`);
  const words = [found, found ? when : when?.replace("again ", "")].filter(Boolean).join("; ");
  return words[0].toUpperCase() + words.slice(1);
}

const foundWords = (found, check) =>
  found === "good" ? (check?.good ?? "Good") : (FOUND[found] ?? "Nothing recorded");

function answer(words, check, act) {
  const button = /** @type {HTMLButtonElement} */ (text("button", words, "check-answer"));
  button.type = "button";
  button.setAttribute("aria-label", `${check.name}: ${words}`);
  button.addEventListener("click", act);
  return button;
}

function keptRow(care, row, redraw) {
  const { what, found, day } = row.values;
  const check = care.checks.find(({ id }) => id === what);
  const words = `${day ? sayDay(day) : "No day"}: ${check?.name ?? what ?? "a check"}, ${foundWords(found, check).toLowerCase()}`;
  const node = fill(clone("own-row"), { words });
  part(node, "remove").setAttribute("aria-label", `Remove ${words}`);
  return on(node, "remove", async () => {
    await store.write("check", row.id, { deleted: true });
    say("Removed. Bring it back in Settings, under Removed.");
    await redraw();
  });
}
