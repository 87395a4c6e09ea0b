// How a record stands in the phone's store: {kind, id, cells, values, places, removed, apart}. Pure;
// what a kind declares (ringside/book/kinds/kind.py) decides what its rows are found by.
//
// cells    {field: merge cell}
// values   {field: value shown}
// places   [[kind, owner, order], ...]: found by these, newest last; none once it is removed
// removed  the stamp of its removal
// apart    1 where a text of it was written apart

import { problem } from "./check.js";
import { held } from "./held.js";
import { apart, fold, join, restamp, value, winner } from "./merge.js";

export const blank = (kind, id) => ({ kind, id, cells: {}, values: {} });

/** Whether this version knows what a change sets, and may show it. */
export function knows(declared, change) {
  const kind = held(declared, change.kind);
  const field = kind && held(kind.fields, change.field);
  return Boolean(field) && problem(field, change.value) === null;
}

const isText = (kind, field) => kind.fields[field].type === "text";

/** Fold one more change, which `kind` (its declaration) knows, into `row`. */
export function foldInto(kind, row, change) {
  foldCell(kind, row.cells, change);
  place(kind, row);
}

/** Fold a change into the cells of a row, which stays where it is. */
export function foldCell(kind, cells, { field, stamp, base, value: set }) {
  cells[field] = fold(held(cells, field), stamp, base, set, isText(kind, field));
}

/** Join the cells of a record, as the book has it, to `cells`. A field that is not known is kept. */
export function joinCells(cells, others) {
  for (const [field, cell] of Object.entries(others))
    cells[field] = Object.hasOwn(cells, field) ? join(cells[field], cell) : cell;
}

/** The book gave a change of ours another stamp than `raw`: rename it in the cells of its row, known
    to this version or not. */
export function renameIn(cells, { field, stamp }, raw) {
  if (Object.hasOwn(cells, field)) cells[field] = restamp(cells[field], raw, stamp);
}

/** Bring what a row is found by up to date with its cells. */
export function place(kind, row) {
  row.values = {};
  for (const [field, declared] of Object.entries(kind.fields)) {
    if (!Object.hasOwn(row.cells, field)) continue;
    const shown = value(row.cells[field]);
    if (problem(declared, shown) === null) row.values[field] = shown;
  }
  const order = `${row.values[kind.newest] ?? ""} ${row.id}`;
  const isRemoved = Boolean(row.values.deleted);
  if (isRemoved) delete row.places;
  else row.places = keys(kind, row).map((key) => [row.kind, key, order]);
  set(row, "removed", isRemoved && winner(row.cells.deleted));
  set(row, "apart", !isRemoved && isApart(kind, row) && 1);
}

// An index leaves out rows without its field.
function set(row, name, wanted) {
  if (wanted) row[name] = wanted;
  else delete row[name];
}

function keys(kind, { values }) {
  const owner = ownerOf(kind, values);
  const found = [owner];
  if (kind.by) found.push(groupKey(owner, values[kind.by]));
  for (const field of kind.also) if (values[field]) found.push(values[field]);
  return found;
}

// A cell of a field that is not known may stand here from a newer version.
const isApart = (kind, row) =>
  Object.entries(kind.fields).some(
    ([field, { type }]) => type === "text" && Object.keys(apart(held(row.cells, field))).length > 0,
  );

/** What a record is about, "" for nothing. */
export const ownerOf = (kind, values) => (kind.about && values[kind.about]) || "";

/** The key under which the records of `owner` with one value of the kind's `by` are found. */
export const groupKey = (owner, group) => `${owner} ${group ?? ""}`;

/** [[kind, id], ...] of the packs that are made from this record. */
export function packsOf(kind, row) {
  const [field, wanted] = kind.packs_where ?? [];
  if (field && row.values[field] !== wanted) return [];
  return kind.packs.map((pack) => [pack, pack === row.kind ? row.id : row.values[pack]]).filter(([, id]) => id);
}

/** What those packs are made from, as text: while it is the same, so are they. */
export function madeFrom(kind, { values }) {
  if (!kind.packs.length) return "";
  const fields = Object.keys(kind.fields).filter((field) => !kind.beside_packs.includes(field));
  return JSON.stringify(fields.map((field) => values[field]));
}
