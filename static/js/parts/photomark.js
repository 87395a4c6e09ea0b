// Marks on a photo, one a screen, set by one thumb. What is set is a draft on this phone, kept at each step; done,
// it is one record that nothing changes any more.

import { held } from "../core/held.js";
import { uuid7 } from "../core/ids.js";
import { expected, LINE, readMarks, roundsOf, stepsOf, written } from "../core/photomarks.js";
import { cardOf, dogFile } from "../dogfile.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { holdCard } from "../installation.js";
import { photoBook } from "../shipped.js";
import * as store from "../store.js";
import { keptDraft } from "./keptdraft.js";
import { askWho, whoMarks } from "./marker.js";
import { draggedAnywhere, markCanvas } from "./markcanvas.js";
import { doneStep, endStep, goneWords, toldStep } from "./markends.js";
import { markHint } from "./markhint.js";
import { dogName } from "./names.js";
import { pixelsFor } from "./photolines.js";
import { lineStep } from "./toplinestep.js";

// How much of the picture's width is in sight at first.
const SPANS = { side: 0.3, front: 0.45, above: 0.45 };
const SPAN = 0.5;
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const BUTTONS = { left: "ArrowLeft", right: "ArrowRight", up: "ArrowUp", down: "ArrowDown" };
const LEAP = 10; // px with Shift

const named = (photo) => `marks ${photo}`;

/** The screen of a photo's marks; `go` leads to another one. Null for a photo that is gone.
    @param {{id: string}} at @param {(path: string) => void} go */
export async function markScreen({ id }, go) {
  const photo = await store.get("photo", id);
  if (!photo || photo.values.deleted) return null;
  const [file, atlas, rows, waiting, who] = await Promise.all([
    dogFile(photo.values.dog),
    photoBook(),
    store.about("marking", id),
    store.draft(named(id)),
    whoMarks(),
  ]);
  if (!file) return null;
  const stage = document.createElement("div");
  const about = {
    ...{ photo, file, atlas, rows, who, stage, go },
    book: held(atlas.views, photo.values.view),
    parts: cardOf(file).figure,
  };
  const picture = await pixelsFor(photo);
  const release = holdCard();
  const marking = new Marking({ ...about, picture });
  await marking.open(waiting?.values);
  return {
    node: stage,
    title: `Marks: ${dogName(file.dog)}`,
    alone: true,
    refresh: () => {},
    shown: () => marking.shown(),
    leave() {
      release();
      picture?.close();
      marking.left();
    },
  };
}

class Marking {
  #about;
  #draft;
  /** @type {{draw: () => void, nudge: (x: number, y: number) => void} | null} */
  #canvas = null;
  #leaving = new AbortController();
  #kept;

  constructor(about) {
    this.#about = about;
    this.#kept = keptDraft(
      named(about.photo.id),
      () => this.#draft,
      (error) => this.#unkept(error),
    );
    addEventListener("keydown", (event) => this.#key(event), { signal: this.#leaving.signal });
    addEventListener("resize", () => this.#canvas?.draw(), { signal: this.#leaving.signal });
  }

  shown() {
    this.#canvas?.draw();
  }

  left() {
    this.#leaving.abort();
  }

  /** Go on where the draft stands; or else say what is there, and begin. */
  async open(draft) {
    const { rows, picture, book, who } = this.#about;
    // Ended between the record and the end of the draft: it is done.
    const isDone = draft && rows.some(({ id }) => id === draft.record);
    if (isDone) await this.#kept.drop();
    if (!book) return this.#told("This photo has no view", "Say on the photo from where it was taken, then mark it.");
    if (!picture) return this.#told("The picture is not here", goneWords(rows.length > 0));
    if (!who) return this.#ask();
    if (draft && !isDone) {
      this.#draft = { ...draft, marks: readMarks(written(draft.marks ?? {})) };
      return this.#step();
    }
    return this.#mine().length ? this.#done() : this.#begin();
  }

  #back = () => `#/dog/${this.#about.file.dog.id}/photos`;

  #mine = () => roundsOf(this.#about.rows, this.#about.who);

  #ask() {
    const node = askWho(this.#back(), async (who) => {
      this.#about.who = who;
      await this.open(this.#draft);
    });
    this.#show({ node, canvas: null });
  }

  /** Begin a round: the next one, without the marks of those before; or go on with the further marks of the
      one `from`.
      @param {any} from */
  #begin(from = null) {
    const rounds = this.#mine().map(({ values }) => values.round ?? 1);
    this.#draft = {
      record: uuid7(),
      by: this.#about.who,
      round: from ? (from.values.round ?? 1) : Math.max(0, ...rounds) + 1,
      more: Boolean(from),
      marks: from ? readMarks(from.values.marks) : {},
      at: null,
    };
    this.#draft.at = this.#steps().find((id) => !(id in this.#draft.marks)) ?? "end";
    this.#kept.keep();
    this.#step();
  }

  #steps = () => stepsOf(this.#about.atlas, this.#about.photo.values.view, this.#draft);

  /** Show the mark where the draft stands. */
  #step() {
    const steps = this.#steps();
    const { at } = this.#draft;
    this.#canvas = null;
    if (!steps.includes(at)) this.#end(steps);
    else if (at === LINE) this.#line(steps);
    else this.#mark(steps, at);
  }

  /** Go so many steps on or back, and keep where that is. */
  #move(by) {
    const steps = this.#steps();
    const here = steps.indexOf(this.#draft.at);
    const to = Math.max(here < 0 ? steps.length + by : here + by, 0);
    this.#draft.at = steps[to] ?? "end";
    this.#kept.keep();
    this.#step();
  }

  #set(id, mark) {
    this.#draft.marks = { ...this.#draft.marks, [id]: mark };
    this.#kept.keep();
  }

  #mark(steps, id) {
    const { photo, atlas, picture, book, parts } = this.#about;
    const { marks } = this.#draft;
    const mark = atlas.marks[id];
    const now = held(marks, id);
    const isStuck = Boolean(photo.values.stickers);
    const node = fill(clone("mark-one"), {
      back: icon("close"),
      title: mark.name,
      at: `${steps.indexOf(id) + 1} of ${steps.length}`,
      says: mark.says,
      hand: mark.hand,
      hint: hintOf(now),
      ...(!isStuck && { sticker: null }),
    });
    part(node, "back").href = this.#back();
    markHint(part(node, "drawing"), { atlas, photo: photo.values, parts, id });
    const box = isStuck ? part(node, "stuck") : null;
    if (box) box.checked = now ? now[2] === "sticker" : Boolean(mark.sticker);
    const how = () => (box?.checked ? "sticker" : "eye");
    const others = Object.entries(marks).filter(([other, one]) => one && other !== id && other !== LINE);
    const place = now ?? expected(atlas, sizedBy(photo.values, picture), parts, id, marks);
    const canvas = markCanvas(part(node, "stage"), part(node, "loupe"), picture, {
      span: SPANS[photo.values.view] ?? SPAN,
      place,
      dots: () => others.map(([, one]) => one),
      moved: ([x, y], isDone) => {
        if (!held(this.#draft.marks, id) && same([x, y], place)) return;
        this.#draft.marks = { ...this.#draft.marks, [id]: [x, y, how()] };
        fill(node, { hint: "" });
        if (isDone) this.#kept.keep();
      },
    });
    box?.addEventListener("change", () => {
      const set = held(this.#draft.marks, id);
      if (set) this.#set(id, [set[0], set[1], how()]);
    });
    this.#tools(node, canvas, () => {
      if (held(this.#draft.marks, id)) return this.#move(1);
      fill(node, { hint: "Move the cross to the point first, or tap Cannot see." });
      return null;
    });
    on(node, "unseen", () => {
      this.#set(id, null);
      this.#move(1);
    });
    part(node, "before").disabled = steps.indexOf(id) === 0;
    this.#show({ node, canvas });
    say(`${mark.name}, ${steps.indexOf(id) + 1} of ${steps.length}. ${book.name}.`);
  }

  #line(steps) {
    const { picture, atlas } = this.#about;
    const { node, canvas, points } = lineStep({ picture, atlas, marks: this.#draft.marks }, (line) =>
      this.#set(LINE, line),
    );
    fill(node, { back: icon("close"), at: `${steps.indexOf(LINE) + 1} of ${steps.length}` });
    part(node, "back").href = this.#back();
    this.#tools(node, canvas, () => {
      this.#set(LINE, points());
      this.#move(1);
    });
    on(node, "unseen", () => {
      this.#set(LINE, null);
      this.#move(1);
    });
    this.#show({ node, canvas });
    say(`${atlas.marks[LINE].name}, ${steps.indexOf(LINE) + 1} of ${steps.length}.`);
  }

  #unkept(error) {
    const place = part(this.#about.stage, "hint");
    if (place) place.textContent = `Not saved on this phone: ${error.message}`;
  }

  #tools(node, canvas, next) {
    for (const [name, key] of Object.entries(BUTTONS)) on(node, name, () => canvas.nudge(...ARROWS[key]));
    on(node, "nearer", () => canvas.nearer());
    on(node, "farther", () => canvas.farther());
    on(node, "before", () => this.#move(-1));
    on(node, "next", next);
    draggedAnywhere(node, () => canvas);
  }

  #key(event) {
    const way = ARROWS[event.key];
    if (!way || !this.#canvas || event.target.closest("input, select, textarea")) return;
    event.preventDefault();
    const by = event.shiftKey ? LEAP : 1;
    this.#canvas.nudge(way[0] * by, way[1] * by);
  }

  /** All are set: look at them, then done, or further ones. */
  #end(steps) {
    const to = (id) => {
      this.#draft.at = id;
      this.#kept.keep();
      this.#step();
    };
    const more = () => {
      this.#draft.more = true;
      to(this.#steps()[steps.length] ?? "end");
    };
    const done = (node) => this.#finish(node);
    this.#show(endStep(this.#about, this.#draft, steps, { to, more, done, back: () => this.#move(-1) }));
    say("All marks are set.");
  }

  async #finish(node) {
    const { photo, atlas, file, go } = this.#about;
    const { record, by, round, marks } = this.#draft;
    try {
      await store.write("marking", record, {
        photo: photo.id,
        dog: photo.values.dog,
        round,
        by,
        atlas: atlas.atlas,
        marks: written(marks),
      });
      await this.#kept.drop();
      say("Saved.");
      go(`dog/${file.dog.id}/proportions`);
    } catch (error) {
      fill(node, { words: `Not saved: ${error.message} Your marks are still here; try again.` });
    }
  }

  /** What this person has done here, and what may come next. */
  #done() {
    const rounds = this.#mine();
    const last = rounds[rounds.length - 1];
    this.#show(
      doneStep(this.#about, rounds, {
        again: () => this.#begin(),
        more: () => this.#begin(last),
        who: () => this.#ask(),
      }),
    );
  }

  #told(title, words) {
    this.#show(toldStep(this.#about, title, words));
  }

  /** @param {{node: any, canvas: {draw: () => void, nudge: (x: number, y: number) => void} | null}} shown */
  #show({ node, canvas }) {
    this.#canvas = canvas;
    this.#about.stage.replaceChildren(node);
    scrollTo(0, 0);
    if (node.isConnected) requestAnimationFrame(() => canvas?.draw());
  }
}

const same = (one, other) => one.every((part_, axis) => part_ === other[axis]);

/** The values of a photo with the size of its picture, which an odd record may lack. */
const sizedBy = (values, { width, height }) => ({ ...values, width, height });

function hintOf(mark) {
  if (mark === null) return "You said that it cannot be seen. Drag to mark it after all.";
  return mark ? "" : "Drag anywhere: the cross moves a quarter as far.";
}
