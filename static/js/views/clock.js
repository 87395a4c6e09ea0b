// The ring clock: when our turn comes, what to do now, and one tap for each dog that is judged. A tap is
// on the screen first and in the store after; what it comes to is reckoned from all of them each time.

import { maySleep, stayAwake } from "../awake.js";
import { uuid7 } from "../core/ids.js";
import { clockOf, inMinutes, isPlaced, momentOf, rangeWords, spanWords, stepsAt, tapsOf } from "../core/ringday.js";
import { minutesOf } from "../core/day.js";
import { sayDay } from "../core/days.js";
import { endsOf } from "../core/ringclock.js";
import { ago, few, localDay } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { holdCard } from "../installation.js";
import { entryAndShow } from "../parts/entries.js";
import { sectionOf } from "../parts/guard.js";
import { dogName } from "../parts/names.js";
import { meetingNode, meetingsOn, newRing, ringOf, standingOf, whereWords } from "../parts/ringday.js";
import { ringBook } from "../shipped.js";
import * as store from "../store.js";
import { writesInLine } from "../writes.js";

export const routes = { "entry/:id/clock": clock };

const GUARD = 400;
const EVERY = 5_000; // ms
const CHANGED = [200, 100, 200, 100, 400];
const WORDS = {
  judged: "Dog judged",
  absent: "Dog absent",
  paused: "Ring paused",
  "goes on": "Ring went on",
  lunch: "Lunch began",
  begun: "Judging began",
  posted: "Time posted",
};

async function clock({ id }) {
  const found = await entryAndShow(id);
  const dog = found && (await store.get("dog", found.entry.values.dog));
  return dog && !dog.values.deleted ? running(found, dog) : null;
}

async function running(found, dog) {
  const { id } = found.entry;
  const [book, first] = await Promise.all([ringBook(), ringOf(found)]);
  const release = holdCard();
  const node = fill(clone("clock"), {
    back: icon("back"),
    title: [dogName(dog), whereWords(found.entry.values)].filter(Boolean).join(", "),
  });
  const address = `#/entry/${id}`;
  part(node, "back").href = `#/gate/${id}`;
  part(node, "ring").href = `${address}/ring`;
  part(node, "result").href = `${address}/result`;
  for (const name of ["set", "begin"]) part(node, name).href = `${address}/clock/set`;
  const writes = writesInLine(draw);
  let ring = first;
  let guardedUntil = 0;
  let tapped = 0;
  let place = -1;

  const isPlacedNow = () => isPlaced(found.entry.values);
  const isToday = () => ring.day === localDay();

  // --- what a tap does

  function tap(what, more = {}) {
    if (performance.now() < guardedUntil) return;
    guardedUntil = performance.now() + GUARD;
    if (ring.isNew) writes.add({ kind: "ringday", id: ring.id, values: newRing(found, ring) });
    ring.isNew = false;
    add(uuid7(), { ringday: ring.id, what, at: new Date().toISOString(), ...more });
    navigator.vibrate?.(30);
    done(`${WORDS[what]}. `);
  }

  function add(tapId, values) {
    writes.add({ kind: "ringtap", id: tapId, values });
    ring = withRows(ring, [...ring.rows, { id: tapId, values }]);
    tapped += 1;
  }

  // The newest that is not undone, whoever tapped it.
  const newest = () =>
    ring.rows.filter((row) => tapsOf([row]).length).sort((a, b) => (a.values.at < b.values.at ? 1 : -1))[0];

  function undo() {
    const last = newest();
    if (!last || performance.now() < guardedUntil) return;
    guardedUntil = performance.now() + GUARD;
    writes.add({ kind: "ringtap", id: last.id, values: { deleted: true } });
    ring = withRows(
      ring,
      ring.rows.filter((row) => row !== last),
    );
    tapped += 1;
    done(`Undone: ${WORDS[last.values.what]}. `);
  }

  async function done(told) {
    const saved = writes.save();
    await draw();
    say(told + part(node, "minutes").textContent);
    await saved;
  }

  // --- what is shown

  async function draw() {
    const now = inMinutes(new Date());
    fill(node, { last: lastWords() });
    part(node, "undo").disabled = !newest();
    part(node, "unset").hidden = isPlacedNow();
    part(node, "result").hidden = true;
    for (const name of ["turn", "step", "foot"]) part(node, name).hidden = !isPlacedNow();
    if (!isPlacedNow()) return;
    const standing = await standingOf(found, ring, now);
    fill(node, turnWords(standing, now));
    drawStep(standing, now);
    drawFoot(standing);
  }

  function turnWords(standing, now) {
    const { turn, low, high, middle, isTimed, seen } = standing;
    const hours = `${clockOf(low)}–${clockOf(high)}`;
    const ahead = aheadWords(standing);
    if (turn.left < 0)
      return { when: "", minutes: "Shown", range: "Your dog has been in. If not, tap Undo.", ahead: "" };
    if (!isTimed)
      return { when: "", minutes: "No time", range: "Say when judging begins, or tap Judging began.", ahead };
    if (!isToday()) return { when: dayWords(ring.day), minutes: clockOf(middle), range: hours, ahead };
    if (turn.left === 0 && high - now < 1)
      return { when: "Your turn", minutes: "Now", range: "Go in when the steward calls.", ahead: "" };
    return {
      when: seen.out !== null && seen.back === null ? "Paused. If it goes on now, in about" : "In about",
      minutes: spanWords(middle - now),
      range: `${rangeWords(standing, now)} · ${hours}`,
      ahead,
    };
  }

  function drawStep({ low, turn }, now) {
    const isOn = isToday() && turn.left >= 0;
    part(node, "step").hidden = !isOn;
    if (!isOn) return;
    const at = stepsAt(book.step, turn.left === 0 ? Math.min(low - now, 1) : low - now);
    const wait = at.next ? Math.max(Math.round(low - now - at.next.minutes), 1) : 0;
    fill(node, {
      track: book.step.map((_, step) => trackMark(step, at.place)),
      name: at.now.name,
      text: at.now.text,
      next: at.next ? `Next: ${at.next.name}, in about ${spanWords(wait)}` : "The steward's call decides.",
    });
    part(node, "step").dataset.last = String(!at.next);
    if (place >= 0 && at.place > place) {
      navigator.vibrate?.(CHANGED);
      say(`${at.now.name}. ${at.now.text}`);
    }
    place = at.place;
  }

  function drawFoot({ seen, turn }) {
    part(node, "foot").hidden = !isToday();
    part(node, "result").hidden = turn.left >= 0;
    const isOut = seen.out !== null;
    part(node, "began").hidden = seen.hasBegun;
    part(node, "paused").hidden = isOut;
    part(node, "lunch").hidden = isOut && seen.back !== null;
    part(node, "on").hidden = !isOut;
    part(node, "judged").classList.toggle("main", turn.left >= 0);
  }

  function lastWords() {
    const last = newest();
    if (writes.unkept) return "Not saved yet. Trying again.";
    return last
      ? `Last: ${WORDS[last.values.what]}, ${ago(last.values.at)}`
      : "Tap as each dog leaves the judge's hands.";
  }

  async function drawMeetings() {
    const found = ring.day >= localDay() ? await meetingsOn(ring.day, id) : [];
    fill(node, { meets: sectionOf(() => found.map((meeting) => meetingNode(meeting, id))) });
  }

  // What another phone tapped or set up; a tap in the meantime is in the store a moment later.
  async function read() {
    await writes.save();
    const before = tapped;
    Object.assign(found, await entryAndShow(id));
    const fresh = await ringOf(found);
    if (tapped === before) ring = fresh;
    await Promise.all([draw(), drawMeetings()]);
  }

  function postTime() {
    const { value } = part(node, "until");
    const until = minutesOf(value) < 24 * 60 ? momentOf(ring.day, value) : null;
    part(node, "until-hint").textContent = until ? "" : "Write a time like 13:30.";
    if (until) tap("posted", { until: new Date(until * 60_000).toISOString() });
  }

  function countSeen() {
    const dogs = Math.round(Number(part(node, "dogs").value));
    const isNumber = dogs >= 1 && dogs <= 500;
    part(node, "dogs-hint").textContent = isNumber ? "" : "Write a number from 1 to 500.";
    if (isNumber) tap("judged", { dogs });
  }

  const buttons = {
    judged: "judged",
    absent: "absent",
    began: "begun",
    paused: "paused",
    on: "goes on",
    lunch: "lunch",
  };
  for (const [name, what] of Object.entries(buttons)) on(node, name, () => tap(what));
  on(node, "undo", undo);
  on(node, "post", postTime);
  on(node, "count", countSeen);
  const ticking = setInterval(draw, EVERY);
  await Promise.all([draw(), drawMeetings()]);
  return {
    node,
    title: "Clock",
    refresh: read,
    shown: stayAwake,
    leave() {
      clearInterval(ticking);
      maySleep();
      release();
    },
  };
}

const withRows = (ring, rows) => ({ ...ring, rows, taps: tapsOf(rows) });

const dayWords = (day) => (day ? sayDay(day) : "");

function aheadWords({ stand, seen: { dogs, absent }, turn: { left } }) {
  const seen = dogs ? `, ${dogs} seen${absent ? `, ${absent} of them absent` : ""}` : "";
  const closing = endsOf(stand).filter((end) => end > dogs).length;
  const classes = closing ? ` in ${closing + 1} classes` : "";
  return `${few(left, "dog")} before yours${classes}${seen}`;
}

function trackMark(step, place) {
  const item = document.createElement("li");
  item.append(icon(step < place ? "done" : step === place ? "here" : "open"));
  return item;
}
