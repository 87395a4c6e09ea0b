// Rehearse by ear: both hands are on the dog, so the phone plays the judge. It says each step, waits as
// a judge would, and asks for the marks at the end.

import { maySleep, stayAwake } from "../awake.js";
import { callAt, chanceFrom, paceOf, unknownOrder } from "../core/ear.js";
import { few } from "../core/words.js";
import { cardOf, dogFile, openWalk, stationsOf, walkStations } from "../dogfile.js";
import { clone, fill, icon, on, part, say, stationFigure, text } from "../dom.js";
import { holdCard } from "../installation.js";
import { rowsOf } from "../parts/guard.js";
import { careSection } from "../parts/lines.js";
import { markRows } from "../parts/marking.js";
import { dogName, orderName } from "../parts/names.js";
import { sessionFields } from "../parts/session.js";
import { beginSession, placeName, walkPath } from "../parts/walkstart.js";
import { practiceOf } from "../practice.js";
import { goInstead } from "../router.js";
import { homeBook } from "../shipped.js";
import * as store from "../store.js";
import { hush, ownVoice, speak } from "../voice.js";

export const routes = { "dog/:id/ear": earStart, "ear/:id": ear };

const END = "end";
const LONGEST = 600; // s, as the record takes

async function earStart({ id }) {
  const file = await dogFile(id);
  if (!file) return null;
  const [{ practice: known }, practised] = await Promise.all([homeBook(), practiceOf(file)]);
  const { card, places } = practised;
  const orders = ordersOf(file, practised, known);
  const body = file.dog.values.body ?? "FCI";
  const { seconds, pace } = paceOf(known, body, places.length);
  const node = fill(clone("ear-start"), {
    back: icon("back"),
    title: `By ear: ${dogName(file.dog)}`,
    care: careSection(card, known),
    pace: `${seconds} is the pace of a judge under ${body}. ${pace.says}`,
    choices: orders.map(orderChoice),
  });
  part(node, "back").href = `#/dog/${id}`;
  part(node, "wait").value = String(seconds);
  offerOpen(node, file);
  const session = sessionFields(node);
  const begin = async (more) => {
    const chosen = node.querySelector("input[name=order]:checked");
    const order = orders[Number(chosen.value)];
    const wait = Math.min(Math.max(Number(part(node, "wait").value) || seconds, 1), LONGEST);
    goInstead(await beginSession(file, { ...order.make(), ear: true, wait, ...session(), ...more }));
  };
  on(node, "go", () => begin({}));
  on(node, "marks", () => begin({ place: END }));
  tellVoice(part(node, "voice"));
  return { node, title: "By ear" };
}

function offerOpen(node, file) {
  const open = openWalk(file, "rehearse");
  fill(node, { on: open && `Go on ${placeName(open, stationsOf(file.base))}`, go: open ? "Start over" : "Begin" });
  part(node, "go").classList.toggle("main", !open);
  if (open) part(node, "on").href = `#/${walkPath(open)}`;
}

async function tellVoice(place) {
  const voice = await ownVoice();
  place.textContent = voice
    ? `This phone speaks with a voice of its own (${voice.name}). Nothing is sent anywhere.`
    : "This phone has no English voice of its own, so a soft tone sounds and the words stand large.";
}

/** [{label, hint, make}]: `make` gives the stations of a walk, as its record has them. */
function ordersOf(file, { places, chosen, isMarked }, known) {
  const ids = places.map((place) => place.id);
  const needed = {
    label: "Only what needs work",
    hint: chosen.map(({ name }) => name).join(", "),
    make: () => ({ stations: chosen.map((place) => place.id), only: true }),
  };
  const chance = chanceFrom(crypto.getRandomValues(new Uint32Array(1))[0]);
  return [
    { label: "Usual order", make: () => ({ stations: ids }) },
    ...(isMarked ? [needed] : []),
    ...file.orders.map((row) => ({ label: orderName(row), make: () => ({ stations: row.values.stations ?? [] }) })),
    {
      label: "An unknown judge",
      hint: "An order by chance, as a judge you have not met may take it.",
      make: () => ({ stations: unknownOrder(known, ids, chance), unknown: true }),
    },
  ];
}

function orderChoice({ label, hint = "" }, place) {
  const choice = fill(clone("order-choice"), {
    words: hint ? [text("span", label), text("span", hint, "choice-hint")] : label,
  });
  const input = part(choice, "input");
  input.value = String(place);
  input.checked = place === 0;
  return choice;
}

async function ear({ id }) {
  const walk = await store.get("walk", id);
  const file = walk && !walk.values.deleted && (await dogFile(walk.values.dog));
  if (!file) return null;
  const { practice: known } = await homeBook();
  const card = cardOf(file, walk.values.stations ?? null);
  const stations = walkStations(card, walk.values);
  const wait = 1000 * (walk.values.wait || paceOf(known, file.dog.values.body, stationsOf(card).length).seconds);
  const voiced = ownVoice();
  const release = holdCard();
  const stage = document.createElement("div");
  const isOfCard = (place) => stations.some((station) => station.id === place);
  const begun = walk.values.place;
  let place = begun === END || isOfCard(begun) ? begun : stations[0].id;
  let isPlaying = false;
  let turn = 0;
  let wake = () => {};

  const index = () => stations.findIndex((station) => station.id === place);

  async function play() {
    turn += 1;
    const mine = turn;
    isPlaying = true;
    while (mine === turn && place !== END) {
      draw();
      await speak(callAt(known, stations[index()]), await voiced);
      if (mine === turn) await pass(wait);
      if (mine === turn) await move(1);
    }
    if (mine === turn) finish();
  }

  // Waits so many ms, or until it is woken.
  const pass = (ms) =>
    new Promise((done) => {
      const timer = setTimeout(done, ms);
      wake = () => {
        clearTimeout(timer);
        done(undefined);
      };
    });

  function stop() {
    turn += 1;
    isPlaying = false;
    hush();
    wake();
  }

  function pause() {
    stop();
    draw();
    say("Paused.");
  }

  /** Where the walk stands is kept at each step: killed in the middle, it goes on right there. */
  async function move(by) {
    const to = Math.max(index() < 0 ? stations.length + by : index() + by, 0);
    place = stations[to]?.id ?? END;
    await store.write("walk", id, { place }).catch((error) => console.error(error));
  }

  async function step(by) {
    stop();
    await move(by);
    if (place === END) finish();
    else draw();
  }

  function draw() {
    const [here, next] = [stations[index()], stations[index() + 1]];
    const node = fill(clone("ear"), {
      back: icon("back"),
      station: here.name,
      figure: stationFigure(card.figure, here.id),
      says: callAt(known, here),
      unknown: Boolean(walk.values.unknown) && "An unknown judge: this order was made by chance.",
      next: next ? `Then: ${next.name}` : "Then the marks",
      main: isPlaying ? "Pause" : `Go on at ${here.name}`,
      hint: isPlaying ? "A tap anywhere pauses." : "Hands on the dog first. The phone waits for you.",
      tools: !isPlaying,
    });
    node.classList.toggle("paused", !isPlaying);
    part(node, "back").href = `#/dog/${file.dog.id}`;
    if (!isPlaying) {
      on(node, "before", () => step(-1));
      on(node, "after", () => step(1));
      on(node, "end", async () => step(stations.length));
      part(node, "before").disabled = index() === 0;
    }
    stage.replaceChildren(node);
    if (stage.isConnected) part(node, "main").focus({ preventScroll: true });
  }

  // All of the page is one control: both hands are on the dog, and an elbow must do.
  function tapped({ target }) {
    if (place === END || target.closest("a, .ear-tools")) return;
    if (isPlaying) pause();
    else play();
  }

  async function finish() {
    stop();
    const rows = await markRows(walk, stations);
    const node = fill(clone("ear-end"), {
      back: icon("back"),
      title: `How did ${file.dog.values.name?.trim() || "the dog"} take it?`,
      rows: rowsOf(rows, (row) => row),
      words: `${few(stations.length, "station")}. Skip what you did not do.`,
    });
    part(node, "back").href = `#/dog/${file.dog.id}`;
    on(node, "again", () => step(-1));
    on(node, "finish", async () => {
      await store.write("walk", id, { ended: new Date().toISOString() });
      goInstead(`dog/${file.dog.id}/practice`);
    });
    stage.replaceChildren(node);
    scrollTo(0, 0);
  }

  stage.addEventListener("click", tapped);
  if (place === END) await finish();
  else draw();
  return {
    node: stage,
    title: `By ear: ${dogName(file.dog)}`,
    refresh: () => {},
    shown: stayAwake,
    leave() {
      stop();
      maySleep();
      release();
    },
  };
}
