"""The plan of an import: what each row does, shown to a person before anything is written.

The same table, book and day give the same plan, and its `digest` tells whether what is about to be
written is what a person was shown.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Literal, Protocol

from ringside.book.changes import as_text
from ringside.book.tables.cells import Order
from ringside.book.tables.columns import ID
from ringside.book.tables.rows import Row

Action = Literal["add", "change", "same", "refused"]
# What tells one record from another: what it is, and how it is written there, to be compared.
Known = tuple[str, str]
MOST_SHOWN = 12  # rows that are told of together


@dataclass(frozen=True)
class Line:
    """What one row does: to which record, found `by` what; `edits` are (field, old, new)."""

    number: int
    name: str
    action: Action = "add"
    record: str = ""
    by: str = ""
    edits: tuple[tuple[str, Any, Any], ...] = ()
    remarks: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()

    @property
    def is_to_do(self) -> bool:
        """Whether this row writes anything."""
        return self.action in ("add", "change")

    @property
    def values(self) -> dict[str, Any]:
        """What it writes: {field: new value}."""
        return {name: new for name, _, new in self.edits}

    def refused(self, *problems: str) -> Line:
        """Return this line as one that does nothing, and why."""
        return replace(self, action="refused", problems=(*self.problems, *problems))


@dataclass(frozen=True)
class Plan:
    """What a table does to the book, row by row.

    `left_out` are headings that mean nothing here. `asks_order` tells that it holds dates such
    as 03/04/2024 and nobody said how to read them; `hint` is (row, date, order) of a date in it
    that can be read in one way only.
    """

    lines: tuple[Line, ...]
    left_out: tuple[str, ...]
    separator: str
    order: Order
    asks_order: bool
    hint: tuple[int, str, Order] | None

    def count(self, action: Action) -> int:
        """Return how many rows do this."""
        return sum(line.action == action for line in self.lines)

    @property
    def digest(self) -> str:
        """A hash of everything the rows do."""
        about = [
            [line.number, line.action, line.record, line.edits, line.problems]
            for line in self.lines
        ]
        return hashlib.sha256(as_text(about).encode()).hexdigest()


class Records(Protocol):
    """The records of one kind that the book holds, to be found by what a row says."""

    def line(self, row: Row) -> Line:
        """Return what a row does."""

    def claims(self, line: Line) -> Iterable[Known]:
        """Return what no other row may have, because it tells which record is meant."""


def without_doubles(lines: list[Line], records: Records, kind: str) -> tuple[Line, ...]:
    """Refuse rows that are for one and the same record, or give two one number or name."""
    claims: dict[Known, list[int]] = defaultdict(list)
    for place, line in enumerate(lines):
        if line.action != "refused":
            for claim in records.claims(line):
                claims[claim].append(place)
    found: dict[int, str] = {}
    for (what, _), places in claims.items():
        # Those that come with ids of their own are told apart by them.
        has_ids = all(lines[place].action == "add" and lines[place].record for place in places)
        if len(places) > 1 and (what == ID or not has_ids):
            words = f"are for the same {kind}" if what == ID else f"have the same {what}"
            told = f"Rows {_few([lines[place].number for place in places])} {words}."
            for place in places:
                found.setdefault(place, f"{told} Keep one of them.")
    return tuple(
        line.refused(found[place]) if place in found else line for place, line in enumerate(lines)
    )


def _few(numbers: list[int]) -> str:
    shown = ", ".join(map(str, numbers[:MOST_SHOWN]))
    more = len(numbers) - MOST_SHOWN
    return f"{shown} and {more:,} more" if more > 0 else shown
