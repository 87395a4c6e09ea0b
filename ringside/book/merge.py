"""How changes become values: a pure fold that gives the same cell in any order, repeats included.

A change is one field of one record set to one value. `stamp` orders it, `base` names the stamps
of the values it replaces (one as a rule, several when a person settles texts that were written
apart, none for a first value).

A plain cell is a last-writer-wins register: {"stamp", "value"}.

A text cell keeps every text that no later text has replaced:
{"seen": {node: stamp}, "heads": {stamp: value}}. `seen` is the newest stamp of each node that was
folded in or named as a base. A text is a head while it is the newest of its node and nobody has
named it (or a later one of that node) as a base: a device always builds on its own last text, so
an older text of the same node is replaced by definition. Both parts only grow by maximum, which
makes the fold commutative, associative and idempotent (Shapiro et al., "A comprehensive study of
Convergent and Commutative Replicated Data Types", INRIA RR-7506, 2011: multi-value register).

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
    heads = dict(cell["heads"]) if cell else {}
    by = node(stamp)
    if stamp > seen.get(by, ""):
        _drop(heads, by, stamp)
        seen[by] = stamp
        heads[stamp] = value
    for replaced in base.split():
        by = node(replaced)
        _drop(heads, by, replaced)
        if replaced > seen.get(by, ""):
            seen[by] = replaced
    return {"seen": seen, "heads": heads}


def _drop(heads: dict[str, Any], by: str, upto: str) -> None:
    for stamp in [stamp for stamp in heads if node(stamp) == by and stamp <= upto]:
        del heads[stamp]


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
    if "heads" not in cell:
        return {}
    shown = value(cell)
    return {stamp: text for stamp, text in sorted(cell["heads"].items()) if text != shown}


def base(cell: Cell | None) -> str:
    """Return the `base` of an edit made by someone who sees this cell: all it would replace."""
    if cell is None:
        return ""
    return " ".join(sorted(cell["heads"])) if "heads" in cell else winner(cell)
