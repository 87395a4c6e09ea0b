// A round of ten: asked before shown, answered at once with the reason and its source; what was missed
// comes back before the end. Only the first answer to a thing counts, and it is kept as it is given.

import { answerOf, DRAWN, pairsRight, roundOf } from "../core/drill.js";
import { hintOf, questionOf } from "../core/questions.js";
import { few, localDay } from "../core/words.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { keepAnswer, lessonOf } from "../lesson.js";
import { light, tapDrawing } from "../parts/drawing.js";
import { lineNode } from "../parts/lines.js";

export const routes = { "learn/round": round, "breed/:breed/learn/round": round, "dog/:id/learn/round": round };

async function round(address) {
  const lesson = await lessonOf(address);
  if (!lesson) return null;
  const { card, path, terms } = lesson;
  const queue = roundOf(lesson.items, lesson.states, localDay());
  const count = queue.length;
  const first = new Map(); // by key: what happened at the first asking
  const stage = document.createElement("div");
  let settled = 0;

  function show(node, focused) {
    part(node, "back").href = `#/${path}`;
    const isFirst = !stage.firstChild;
    stage.replaceChildren(node);
    scrollTo(0, 0);
    if (!isFirst) part(node, focused).focus({ preventScroll: true });
  }

  function next() {
    const item = queue.shift();
    if (!item) return show(endNode(), "title");
    const question = questionOf(item, card, terms, Math.random);
    if (!question) return next();
    show(questionNode(item, question), "ask");
  }

  function questionNode(item, question) {
    const begun = performance.now();
    const node = fill(clone("round"), {
      back: icon("back"),
      ask: question.ask,
      place: `${Math.min(settled + 1, count)} of ${count}`,
      words: question.words ?? null,
      result: [],
    });
    let isHelped = false;
    let isDone = false;

    async function settle(given, verdict) {
      if (isDone) return;
      isDone = true;
      const isRight = JSON.stringify(given) === JSON.stringify(question.answer);
      const took = performance.now() - begun;
      marked(node, question, given);
      const isFirst = !first.has(item.key);
      const answer = answerOf(item, { isRight, isHelped, took });
      if (isRight) settled += 1;
      else queue.push(item);
      told(isRight ? "Right." : verdict, "");
      if (!isFirst) return;
      first.set(item.key, answer);
      try {
        await keepAnswer(lesson, item, answer);
      } catch (error) {
        told(isRight ? "Right." : verdict, ` Not saved: ${error.message}`);
      }
    }

    function told(verdict, problem) {
      const line = lineNode(card, question.line, { words: question.reason });
      const result = fill(clone("round-result"), { verdict: verdict + problem, reason: [line] });
      fill(node, { result });
      part(node, "tools")?.remove();
      part(node, "next").hidden = false;
      part(node, "next").focus({ preventScroll: true });
      part(node, "next").scrollIntoView({ block: "nearest" });
      say(`${verdict} ${question.reason}${problem}`);
    }

    on(node, "next", next);
    part(node, "next").hidden = true;
    if (item.kind !== "order") fill(node, { undo: null });
    if (item.kind === "place") askPlace(node, item, settle, next);
    else if (item.kind === "order") askOrder(node, question, settle);
    else {
      fill(node, { drawing: null, pass: null });
      askChoice(node, question, settle);
      on(node, "hint", () => {
        isHelped = true;
        for (const id of hintOf(question)) optionOf(node, id).disabled = true;
        part(node, "hint").disabled = true;
      });
    }
    return node;
  }

  function askPlace(node, item, settle, leaveOut) {
    const places = card.phases.find(({ id }) => id === DRAWN).stations.map(({ id }) => id);
    const named = (id) => card.phases.flatMap((phase) => phase.stations).find((one) => one.id === id)?.name;
    fill(node, { options: null, hint: null });
    const drawing = tapDrawing(part(node, "drawing"), card.figure, places, (ids) => {
      const found = ids.includes(item.station) ? item.station : ids[0];
      light(drawing, [item.station]);
      settle(found, `That is the ${named(found)?.toLowerCase()}. It is marked now.`);
    });
    // Who cannot see the drawing is not held up by it, and nothing is kept of it.
    on(node, "pass", () => {
      settled += 1;
      leaveOut();
    });
  }

  function endNode() {
    const kinds = [...first.values()];
    const right = kinds.filter((answer) => answer !== "wrong").length;
    const node = fill(clone("learn-end"), {
      back: icon("back"),
      title: "Round done",
      words: count ? `${right} of ${few(kinds.length, "thing")} right first time.` : "Nothing to learn here yet.",
      more: right < kinds.length ? "You will be asked again soon about what you missed." : null,
      onward: "Another round",
    });
    part(node, "onward").href = `#/${path}/round`;
    part(node, "onward").addEventListener("click", (event) => {
      event.preventDefault();
      dispatchEvent(new HashChangeEvent("hashchange"));
    });
    part(node, "home").href = `#/${path}`;
    return node;
  }

  next();
  // What arrives meanwhile changes nothing under a finger.
  return { node: stage, title: "Round", refresh: () => {} };
}

const optionOf = (node, id) => part(node, "options").querySelector(`[data-option="${id}"]`);

function optionNodes(question, tapped) {
  return question.options.map(({ id, words }) => {
    const node = fill(clone("round-option"), { icon: "", words });
    node.dataset.option = id;
    node.addEventListener("click", () => tapped(id));
    return node;
  });
}

function askChoice(node, question, settle) {
  const nameOf = (id) => question.options.find((option) => option.id === id).words;
  const isShort = question.options.every(({ words }) => words.length < 20);
  part(node, "options").classList.toggle("two", isShort);
  fill(node, {
    options: optionNodes(question, (id) => settle(id, isShort ? `No, not ${nameOf(id).toLowerCase()}.` : "No.")),
  });
}

function askOrder(node, question, settle) {
  const given = [];
  fill(node, { drawing: null, hint: null, pass: null });
  part(node, "options").classList.add("two");
  const number = () => {
    for (const { id } of question.options) {
      const option = optionOf(node, id);
      const place = given.indexOf(id);
      fill(option, { icon: place < 0 ? "" : String(place + 1) });
      option.setAttribute("aria-pressed", String(place >= 0));
    }
    part(node, "undo").disabled = given.length === 0;
  };
  const nodes = optionNodes(question, (id) => {
    if (given.includes(id)) return;
    given.push(id);
    number();
    if (given.length < question.options.length) return;
    const { right, of } = pairsRight(given, question.answer);
    settle(given, `${right} of ${of} pairs right.`);
  });
  fill(node, { options: nodes });
  on(node, "undo", () => {
    given.pop();
    number();
  });
  number();
}

/** After an answer: what was right and what was tapped, by shape; nothing can be tapped any more. */
function marked(node, { options, answer }, given) {
  const place = part(node, "drawing");
  if (place) place.disabled = true;
  for (const { id } of options) {
    const option = optionOf(node, id);
    option.disabled = true;
    const isRight = Array.isArray(answer) ? given.indexOf(id) === answer.indexOf(id) : id === answer;
    option.classList.toggle("right", isRight);
    if (isRight) fill(option, { icon: icon("done") });
    else if (Array.isArray(answer)) fill(option, { icon: String(answer.indexOf(id) + 1) });
    else if (id === given) fill(option, { icon: icon("missed") });
  }
}
