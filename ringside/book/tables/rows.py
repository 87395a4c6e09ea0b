"""Rows: the values that each has, and all that is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from ringside.book.tables import days
from ringside.book.tables.cells import CellError, Order, OrderError, Reading
from ringside.book.tables.columns import ID, Column, Columns, is_id
from ringside.book.tables.sheets import Sheet

LONGEST_SHOWN = 60


@dataclass
class Row:
    """A row as it was read: the values it has, and what is wrong with it."""

    number: int
    id: str = ""
    values: dict[str, Any] = field(default_factory=dict)
    problems: list[str] = field(default_factory=list)
    is_open: bool = False
    hint: tuple[int, str, Order] | None = None


def read_rows(
    sheet: Sheet, columns: Columns, places: dict[str, int], reading: Reading
) -> list[Row]:
    """Read the rows of a table whose fields stand at `places`."""
    return [_read(number, cells, sheet, columns, places, reading) for number, cells in sheet.rows]


def _read(
    number: int,
    cells: tuple[str, ...],
    sheet: Sheet,
    columns: Columns,
    places: dict[str, int],
    reading: Reading,
) -> Row:
    row = Row(number)
    if any(cells[len(sheet.headings) :]):
        row.problems.append(
            f"It has {len(cells)} cells under {len(sheet.headings)} headings. "
            'Put a name with a comma in quotes, "like, this".'
        )
        return row
    for name, place in places.items():
        cell = cells[place] if place < len(cells) else ""
        if cell and name == ID:
            _read_id(row, cell, columns.kind)
        elif cell:
            _read_cell(row, columns, columns.by_field[name], cell, reading)
    return row


def _read_id(row: Row, cell: str, kind: str) -> None:
    if is_id(cell):
        row.id = cell.lower()
    else:
        row.problems.append(
            f"“{cell[:LONGEST_SHOWN]}” is not one of Ringside's ids. Empty the cell; the "
            f"{kind} is then found by its numbers or names."
        )


def _read_cell(row: Row, columns: Columns, column: Column, cell: str, reading: Reading) -> None:
    title = column.title
    if len(cell) > column.longest:
        row.problems.append(
            f"{title}: it has {len(cell):,} characters; {column.longest} is the most. Shorten it."
        )
        return
    try:
        value = column.read(cell, reading)
    except CellError as error:
        row.problems.append(f"{title}: {error}")
        row.is_open = row.is_open or isinstance(error, OrderError)
        return
    problem = columns.declared(column.field).problem(value)
    if problem:
        row.problems.append(f"{title}: it {problem}.")
        return
    row.values[column.field] = value
    if column.is_day and (order := days.order_in(cell)):
        row.hint = (row.number, cell, order)
