"""How changes become values: a pure fold that gives the same cell in any order, repeats included.

A change is one field of one record set to one value. `stamp` orders it, `base` names the stamps
of the values it replaces (one as a rule, several when a person settles texts that were written
apart, none for a first value).

A plain cell is a last-writer-wins register: {"stamp", "value"}.

A text cell keeps every text that no other text has replaced:
{"seen": {node: stamp}, "heads": {stamp: value}}. `seen` is the newest stamp of each node that was
named as a base: whoever named it had seen all of that node up to it. A text is a head while `seen`
does not reach it. A device's own texts are no exception: one that was put back to an older copy of
itself does not know its newer text, and must not replace it. `seen` only grows by maximum, and
heads only come and, once reached, go, which makes the fold commutative, associative and idempotent
(Shapiro et al., "A comprehensive study of Convergent and Commutative Replicated Data Types", INRIA
RR-7506, 2011: multi-value register).

Two cells of the same field, each folded from some of its changes, join to what all of those give.

The phone has the same functions; the vectors in tests/vectors hold the two together.
"""

from __future__ import annotations

from typing import Any

from ringside.book.clock import node

Cell = dict[str, Any]


def fold(cell: Cell | None, stamp: str, base: str, value: Any, is_text: bool) -> Cell:
    """Return `cell` (None: no value yet) with one more change folded in. `cell` is not altered."""
    if is_text:
        return _fold_text(cell, stamp, base, value)
    if cell is None or stamp > cell["stamp"]:
        return {"stamp": stamp, "value": value}
    return cell


def _fold_text(cell: Cell | None, stamp: str, base: str, value: Any) -> Cell:
    seen = dict(cell["seen"]) if cell else {}
    for replaced in base.split():
        by = node(replaced)
        seen[by] = max(seen.get(by, ""), replaced)
    heads = {**cell["heads"], stamp: value} if cell else {stamp: value}
    return {"seen": seen, "heads": _left(heads, seen)}


def _left(heads: dict[str, Any], seen: dict[str, str]) -> dict[str, Any]:
    return {stamp: text for stamp, text in heads.items() if stamp > seen.get(node(stamp), "")}


def join(cell: Cell, other: Cell) -> Cell:
    """Return what the changes behind both cells give together. Neither is altered."""
    if "heads" not in cell:
        return other if other["stamp"] > cell["stamp"] else cell
    seen = dict(cell["seen"])
    for by, stamp in other["seen"].items():
        seen[by] = max(seen.get(by, ""), stamp)
    return {"seen": seen, "heads": _left({**cell["heads"], **other["heads"]}, seen)}


def winner(cell: Cell) -> str:
    """Return the stamp of the value shown."""
    if "heads" in cell:
        return max(cell["heads"], default="")
    stamp: str = cell["stamp"]
    return stamp


def value(cell: Cell) -> Any:
    """Return the value shown: that of the greatest stamp."""
    return cell["heads"].get(winner(cell)) if "heads" in cell else cell["value"]


def apart(cell: Cell) -> dict[str, Any]:
    """Return the other texts, by stamp, that were written apart from the one shown and differ."""
    if len(cell.get("heads", ())) < 2:
        return {}
    shown = value(cell)
    return {stamp: text for stamp, text in sorted(cell["heads"].items()) if text != shown}


def base(cell: Cell | None) -> str:
    """Return the `base` of an edit made by someone who sees this cell: all it would replace."""
    if cell is None:
        return ""
    return " ".join(sorted(cell["heads"])) if "heads" in cell else winner(cell)
