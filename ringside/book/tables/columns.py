"""Columns: which heading stands for which field of a kind of record."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from ringside.book.kinds import KINDS
from ringside.book.kinds.fields import UUID, Field
from ringside.book.tables.cells import LONGEST_CELL, Reading, folded, words
from ringside.book.tables.sheets import Sheet, SheetError

ID = "id"


@dataclass(frozen=True)
class Column:
    """A field as it stands in a table: its heading, what it takes, other headings, its reader."""

    field: str
    title: str
    takes: str
    example: str
    also: tuple[str, ...]
    read: Callable[[str, Reading], Any] = words
    is_day: bool = False
    longest: int = LONGEST_CELL

    @property
    def headings(self) -> set[str]:
        """All headings it is known by, folded."""
        return {folded(words) for words in (self.field, self.title, *self.also)}


@dataclass(frozen=True)
class Columns:
    """The columns for records of `kind`, which is also what a person calls one of them."""

    kind: str
    columns: tuple[Column, ...]

    @cached_property
    def by_field(self) -> dict[str, Column]:
        """The columns by their fields, in their order."""
        return {column.field: column for column in self.columns}

    @cached_property
    def by_heading(self) -> dict[str, str]:
        """Which field stands under a heading, folded."""
        known = {heading: column.field for column in self.columns for heading in column.headings}
        return known | {ID: ID, "ringside id": ID}

    @cached_property
    def needed(self) -> list[Column]:
        """Those that a new record needs."""
        return [column for column in self.columns if self.declared(column.field).required]

    def declared(self, name: str) -> Field:
        """Return what the book takes for a field."""
        return KINDS[self.kind].fields[name]

    def template(self) -> str:
        """Return a table to begin one's own from: the headings, and one invented record."""
        rows = ([column.title for column in self.columns], [one.example for one in self.columns])
        return "".join(",".join(row) + "\r\n" for row in rows)

    def known(self, heading: str) -> bool:
        """Whether a column under this heading is taken in."""
        return bool(self._field(heading))

    def _field(self, heading: str) -> str | None:
        return None if len(heading) > LONGEST_CELL else self.by_heading.get(folded(heading))

    def places(self, sheet: Sheet) -> tuple[dict[str, int], tuple[str, ...]]:
        """Return where each field stands, and what has no place in such a record."""
        found: dict[str, int] = {}
        left_out: list[str] = []
        for place, heading in enumerate(sheet.headings):
            name = self._field(heading)
            values = [
                cells[place] for _, cells in sheet.rows if place < len(cells) and cells[place]
            ]
            # A number of somebody's own is called an id as well.
            is_foreign = name == ID and values and not any(map(is_id, values))
            if name is None or is_foreign:
                if heading or values:
                    left_out.append(heading or f"column {place + 1}, which has no heading")
            elif name in found:
                raise SheetError(
                    f"Two columns hold the same: {sheet.headings[found[name]]} and {heading}. "
                    + self._title(name)
                    + " can be in one column only: rename the other, or remove it."
                )
            else:
                found[name] = place
        return found, tuple(left_out)

    def _title(self, name: str) -> str:
        return self.by_field[name].title if name in self.by_field else "Ringside's own id"


def is_id(cell: str) -> bool:
    """Whether this is an id as ours are written."""
    return bool(UUID.fullmatch(cell.lower()))
