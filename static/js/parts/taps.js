// Taps that are written at once and undone one by one: the screen first, the store after it.

import { held } from "../core/held.js";
import { writesInLine } from "../writes.js";

/** The taps of a screen that shows `rows`. `draw` is called after each, and after each try to write. */
export class Taps {
  #values = new Map();
  #tapped = new Set();
  #undo = [];
  #writes;
  #draw;

  constructor(rows, draw) {
    this.renew(rows);
    this.#draw = draw;
    this.#writes = writesInLine(draw);
  }

  /** Take rows as they are kept now. What was tapped here may be newer than that, and stays. */
  renew(rows) {
    for (const { kind, id, values } of rows) {
      const key = `${kind} ${id}`;
      if (!this.#tapped.has(key)) this.#values.set(key, { ...values });
    }
  }

  /** The values of a record as they are shown; null for one that is not there, or removed. */
  of(kind, id) {
    const values = this.#values.get(`${kind} ${id}`);
    return values && !values.deleted ? values : null;
  }

  /** [{id, values}] of a kind, as they are shown. */
  all(kind) {
    return [...this.#values]
      .filter(([key, values]) => key.startsWith(`${kind} `) && !values.deleted)
      .map(([key, values]) => ({ id: key.slice(kind.length + 1), values }));
  }

  /** Whether what was tapped could not be written yet. */
  get unkept() {
    return this.#writes.unkept;
  }

  /** What the last tap did, in words; undefined for none. */
  get last() {
    return this.#undo.at(-1)?.words;
  }

  /** Write `writes` [{kind, id, values}], which one undo takes back. Gives a promise of when it is kept. */
  tap(writes, words) {
    const whole = writes.map(({ kind, id, values }) => {
      const isRemoved = this.#values.get(`${kind} ${id}`)?.deleted;
      return { kind, id, values: isRemoved ? { deleted: null, ...values } : values };
    });
    this.#undo.push({ words, back: whole.map((write) => this.#before(write)) });
    return this.#apply(whole);
  }

  /** Take the last tap back. */
  undo() {
    const last = this.#undo.pop();
    return last && this.#apply(last.back);
  }

  #before({ kind, id, values }) {
    const was = this.#values.get(`${kind} ${id}`);
    if (!was) return { kind, id, values: { deleted: true } };
    return { kind, id, values: Object.fromEntries(Object.keys(values).map((name) => [name, held(was, name) ?? null])) };
  }

  #apply(writes) {
    for (const { kind, id, values } of writes) {
      const key = `${kind} ${id}`;
      this.#tapped.add(key);
      this.#values.set(key, { ...this.#values.get(key), ...values });
      this.#writes.add({ kind, id, values });
    }
    this.#draw();
    return this.#writes.save();
  }
}
