// How changes become values; the same fold as ringside/book/merge.py, where its laws are explained.
// tests/vectors/merge.json holds the two together.

import { node } from "./clock.js";

/** `cell` (undefined: no value yet) with one more change folded in. `cell` is not altered. */
export function fold(cell, stamp, base, value, isText) {
  if (isText) return foldText(cell, stamp, base, value);
  return !cell || stamp > cell.stamp ? { stamp, value } : cell;
}

function foldText(cell, stamp, base, value) {
  const seen = { ...cell?.seen };
  for (const replaced of base.split(" ").filter(Boolean)) see(seen, node(replaced), replaced);
  return { seen, heads: left({ ...cell?.heads, [stamp]: value }, seen) };
}

function see(seen, by, stamp) {
  if (stamp > (seen[by] ?? "")) seen[by] = stamp;
}

const left = (heads, seen) =>
  Object.fromEntries(Object.entries(heads).filter(([stamp]) => stamp > (seen[node(stamp)] ?? "")));

/** What the changes behind both cells of one field give together. Neither is altered. */
export function join(cell, other) {
  if (!cell.heads) return other.stamp > cell.stamp ? other : cell;
  const seen = { ...cell.seen };
  for (const [by, stamp] of Object.entries(other.seen)) see(seen, by, stamp);
  return { seen, heads: left({ ...cell.heads, ...other.heads }, seen) };
}

/** The stamp of the value shown. */
export function winner(cell) {
  return cell.heads ? (Object.keys(cell.heads).sort().at(-1) ?? "") : cell.stamp;
}

/** The value shown: that of the greatest stamp. */
export function value(cell) {
  return cell.heads ? (cell.heads[winner(cell)] ?? null) : cell.value;
}

/** The other texts, by stamp, that were written apart from the one shown and differ from it. */
export function apart(cell) {
  if (!cell?.heads) return {};
  const shown = value(cell);
  const stamps = Object.keys(cell.heads).sort();
  return Object.fromEntries(
    stamps.filter((stamp) => cell.heads[stamp] !== shown).map((stamp) => [stamp, cell.heads[stamp]]),
  );
}

/** The `base` of an edit by someone who sees this cell: all it would replace. */
export function base(cell) {
  if (!cell) return "";
  return cell.heads ? Object.keys(cell.heads).sort().join(" ") : winner(cell);
}

/** A text cell without the heads of these stamps, which no book will ever know. */
export function without(cell, stamps) {
  const heads = Object.entries(cell.heads).filter(([stamp]) => !stamps.includes(stamp));
  return { ...cell, heads: Object.fromEntries(heads) };
}

/** `cell` with the stamp `raw` renamed: the book ordered a change of ours by its own present. */
export function restamp(cell, raw, stamp) {
  if (!cell.heads) return cell.stamp === raw ? { ...cell, stamp } : cell;
  const rename = (known) => (known === raw ? stamp : known);
  return {
    seen: Object.fromEntries(Object.entries(cell.seen).map(([by, known]) => [by, rename(known)])),
    heads: Object.fromEntries(Object.entries(cell.heads).map(([known, text]) => [rename(known), text])),
  };
}
