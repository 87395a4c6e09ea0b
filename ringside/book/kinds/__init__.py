"""The kinds of record: each is declared once, in a module of this folder.

What may not enter: how records are stored, merged, sent or shown. All that is derived elsewhere.
"""

from __future__ import annotations

import hashlib
import json
import pkgutil
from collections.abc import Iterable, Iterator, Mapping
from importlib import import_module
from typing import Any

from ringside.book.kinds.kind import Kind, Seen


def _declared() -> Iterator[Kind]:
    for module in sorted(pkgutil.iter_modules(__path__), key=lambda found: found.name):
        values = vars(import_module(f"{__name__}.{module.name}")).values()
        yield from (value for value in values if isinstance(value, Kind))


KINDS: Mapping[str, Kind] = {kind.name: kind for kind in _declared()}
# Kinds whose records a pack is made from.
PACKED = tuple(name for name, kind in KINDS.items() if kind.packs)


COLUMNS = 2  # counts how often what is made of a shape has changed


def for_all(kinds: Mapping[str, Kind] = KINDS) -> tuple[str, ...]:
    """Return what a helper is given, as "kind.field": nothing that `kinds` do not declare."""
    return tuple(
        f"{name}.{field}"
        for name, kind in kinds.items()
        if kind.seen is Seen.BY_ALL
        for field in kind.fields
    )


def declaration() -> dict[str, Any]:
    """Return {kind: declaration} as the phone receives it."""
    return {name: kind.declare() for name, kind in KINDS.items()}


def digest(kinds: Mapping[str, Kind] = KINDS) -> str:
    """Return a hash of all shapes, and of who may see what.

    It stands in the book: who declares otherwise makes the rows anew, or gives nothing out.
    """
    shapes = {name: {**kind.shape(), "seen": kind.seen.value} for name, kind in kinds.items()}
    return _hash({"": COLUMNS, **shapes})


def knows(kinds: Mapping[str, Kind], kind: str, field: str, value: Any) -> bool:
    """Whether `kinds` declare what a change sets, and allow its value."""
    known = kinds[kind].fields.get(field) if kind in kinds else None
    return known is not None and known.problem(value) is None


def mark(fields: Iterable[str]) -> str:
    """Return a short name of a set of fields, which no other set has."""
    return _hash(sorted(fields))[:8]


def _hash(said: Any) -> str:
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:16]


__all__ = ["KINDS", "PACKED", "Kind", "Seen", "declaration", "digest", "for_all", "knows", "mark"]
