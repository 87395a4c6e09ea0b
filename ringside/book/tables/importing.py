"""The import of a table into the book: planned, shown, and then written if that is still the plan.

An empty cell never clears a value.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import uuid6

from ringside.book.store import Book
from ringside.book.tables import sheets
from ringside.book.tables.cells import Reading
from ringside.book.tables.columns import Columns
from ringside.book.tables.plan import Plan, Records, without_doubles
from ringside.book.tables.rows import read_rows

# The records that rows are held against: {id: {field: value shown}}, or those of several kinds.
Values = Mapping[str, dict[str, Any]]


@dataclass(frozen=True)
class Done:
    """What an import did: the new and the changed records as {id: name}.

    `left` counts the other rows by what they are: "same", "refused", or unticked: "add", "change".
    """

    added: dict[str, str]
    changed: dict[str, str]
    left: Counter[str]


@dataclass(frozen=True)
class TableImport:
    """How tables become records of one kind: by which columns, and how a row finds its record."""

    columns: Columns
    records: Callable[[Values, Reading], Records]

    def known(self, book: Book) -> Values:
        """Return the records of the book that a plan needs, the removed ones among them."""
        return book.records(self.columns.kind, with_deleted=True)

    def plan(self, text: str, known: Values, reading: Reading) -> Plan:
        """Plan what the table in `text` does to the `known` records, the removed ones among them.

        Raises SheetError if it cannot be read at all.
        """
        such_as = ", ".join(column.title for column in self.columns.needed)
        sheet = sheets.read(sheets.plain_breaks(text), self.columns.known, such_as)
        places, left_out = self.columns.places(sheet)
        records = self.records(known, reading)
        read = read_rows(sheet, self.columns, places, reading)
        is_open = any(row.is_open for row in read)
        kind = self.columns.kind
        lines = without_doubles([records.line(row) for row in read], records, kind)
        hint = next((row.hint for row in read if row.hint), None) if is_open else None
        return Plan(lines, left_out, sheet.separator, reading.order, is_open, hint)

    def write(
        self, book: Book, text: str, reading: Reading, digest: str, rows: set[int], now: int
    ) -> Done | Plan:
        """Do what the rows numbered in `rows` do, all of it or nothing; raises SheetError.

        If that is no longer what `digest` stands for nothing is written, and the new plan returned.
        """
        with book.writing():
            made = self.plan(text, self.known(book), reading)
            if made.digest != digest:
                return made
            chosen = [line for line in made.lines if line.is_to_do and line.number in rows]
            found = {line.record or str(uuid6.uuid7()): line for line in chosen}
            for kind, values in self.records_of(found).items():
                receipt = book.revise(kind, values, now)
                if receipt.refused:
                    raise ValueError(f"The book refused what had passed: {receipt.refused}")
        done = {line.number for line in chosen}
        return Done(
            {key: line.name for key, line in found.items() if line.action == "add"},
            {key: line.name for key, line in found.items() if line.action == "change"},
            Counter(line.action for line in made.lines if line.number not in done),
        )

    def records_of(self, found: Mapping[str, Any]) -> dict[str, dict[str, dict[str, Any]]]:
        """Return what lines by their records' ids write: {kind: {id: {field: value}}}."""
        return {self.columns.kind: {key: line.values for key, line in found.items()}}
