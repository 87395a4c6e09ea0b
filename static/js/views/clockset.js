// What the ring clock goes by: where the entry stands in its ring, when judging begins, how fast it goes.
// The first is the entry's, the rest the ring's, for all who are shown in it.

import { timeProblem } from "../core/bounds.js";
import { aheadProblem, habitsOf, pacesOf, planOf, wordsOf } from "../core/ringday.js";
import { clone, fill, icon, part } from "../dom.js";
import { onSave, show as showValues, worthWriting } from "../forms.js";
import { entryAndShow } from "../parts/entries.js";
import { lineNode } from "../parts/lines.js";
import { dogName } from "../parts/names.js";
import { newRing, ringOf } from "../parts/ringday.js";
import { goInstead } from "../router.js";
import { kinds, ringBook } from "../shipped.js";
import * as store from "../store.js";

export const routes = { "entry/:id/clock/set": setUp };

const STAND = ["ahead", "before"];
const RING = ["begins", "pace", "lunch_from", "lunch_to"];
const TIMES = ["begins", "lunch_from", "lunch_to"];

async function setUp({ id }) {
  const [found, declared, book] = await Promise.all([entryAndShow(id), kinds(), ringBook()]);
  const dog = found && (await store.get("dog", found.entry.values.dog));
  if (!dog || dog.values.deleted) return null;
  const ring = await ringOf(found);
  const { body } = found.show.values;
  const was = { ...ring.values, before: found.entry.values.before, ahead: (found.entry.values.ahead ?? []).join(", ") };
  const node = fill(clone("clock-set"), {
    back: icon("back"),
    title: `Set up the clock: ${dogName(dog)}`,
    "hint-pace": paceWords(book, body, planOf(ring, body, book)),
    known: [...pacesOf(book, body), ...habitsOf(book, body)].map((line) => lineNode(book, line, { words: line.says })),
  });
  part(node, "back").href = `#/entry/${id}/clock`;
  const form = part(node, "form");
  showValues(form, was);
  const fields = { ...declared.ringday.fields, ...declared.entry.fields, ahead: { type: "words", most: 300 } };
  await onSave(node, form, [...STAND, ...RING], fields, {
    draft: `clock ${id}`,
    extra: problems,
    async save({ ahead, before, ...rest }) {
      const stand = worthWriting({ ahead: ahead ? wordsOf(ahead) : null, before }, found.entry.values);
      const plan = worthWriting(rest, ring.values);
      await store.writeAll([
        { kind: "entry", id, values: stand },
        { kind: "ringday", id: ring.id, values: ring.isNew ? { ...newRing(found, ring), ...plan } : plan },
      ]);
      goInstead(`entry/${id}/clock`);
    },
  });
  return { node, title: "Set up the clock" };
}

function problems({ ahead, ...times }) {
  const wrong = TIMES.map((name) => [name, timeProblem(times[name]) ?? plainTime(times[name])]);
  return Object.fromEntries([["ahead", aheadProblem(ahead)], ...wrong].filter(([, reason]) => reason));
}

// Here words such as "after the Beagles" tell the clock nothing.
const plainTime = (time) => (time && !/^\d{1,2}[:.h]\d{2}/.test(time) ? "Write a time like 10:30." : null);

function paceWords(book, body, { pace }) {
  const said = pacesOf(book, body).map(({ minutes, name }) => `${minutes}${name ? ` ${name}` : ""}`);
  const usual = said.length ? `Usual under ${body}: ${said.join(", ")}.` : `Without a number: ${pace}.`;
  return `${usual} Pace is a habit, not a rule: the clock learns from your taps.`;
}
