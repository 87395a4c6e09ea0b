"""The rows of a file that anybody may have made, in a fresh book: data, never schema.

They are read by statements of ours from plain tables. What else stands in the file (triggers,
views, indexes, other tables) is neither run nor taken over, and each row is looked at as if a
stranger had sent it. Records are not taken over: they are made anew from the changes.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from peewee import BooleanField, Field, IntegerField, Model

from ringside.book import changes as rules
from ringside.book import clock, devices, opening
from ringside.book.devices import Device
from ringside.book.keeping import checks, photos, pieces, reading
from ringside.book.keeping.copying import AT_ONCE
from ringside.book.keeping.photos import Photos
from ringside.book.kinds.fields import UUID
from ringside.book.models import Change, Contested, Meta, Record
from ringside.book.parts import parted
from ringside.book.place import Place
from ringside.book.projection import COLUMNS
from ringside.book.store import Book, BookError

Values = dict[str, Any]

# What a book makes of itself by itself.
MADE = {"format", "kinds", "packed", "strange"}
LONGEST = {"key": 60, "value": 1000}  # characters of what a book knows of itself
LAST_NUMBER = 2**53  # as far as a phone can count
LONGEST_WORD = 200  # characters of a device's name, or of a hash


@dataclass(frozen=True)
class Poured:
    """Whether the records of a file were other than its changes make them; and its photos."""

    is_rebuilt: bool
    photos: Photos


def pour(source: Path, draft: Path, named: Path) -> Poured:
    """Make a book at `draft` of the rows in `source`, a whole file that people call `named`.

    A photo that is not what its name says, or tells more than it shows, is left out. Raises
    BookError.
    """
    with (
        opening.opened_at(Place.of_file(draft)) as book,
        checks.open_foreign(source) as db,
        checks.broken_told(named),
    ):
        tables = checks.plain_tables(db)
        with book.writing():
            for table in (Meta, Change, Contested, Device):
                _pour_table(db, book, table, tables.get(table._meta.table_name, frozenset()), named)
            taken = Photos()
            taken.take(book, photos.rows(db, tables.get(photos.TABLE, frozenset())))
            book.learn_id()
            book.rebuild()
        columns = tables.get(Record._meta.table_name, frozenset())
        is_other = _is_of_this_version(db, book) and not _has_its_records(db, book, columns)
        return Poured(is_other, taken)


def _is_of_this_version(db: sqlite3.Connection, book: Book) -> bool:
    made = db.execute("SELECT value FROM meta NOT INDEXED WHERE key = 'kinds'").fetchone()
    return bool(made == (book.digest,))


def _has_its_records(db: sqlite3.Connection, book: Book, columns: frozenset[str]) -> bool:
    """Whether the records in the file, where there are any, are those of the book."""
    if not columns.issuperset(COLUMNS):
        return False
    sql = f"SELECT {', '.join(COLUMNS)} FROM record"
    try:
        there = checks.digest(db.execute(f"{sql} NOT INDEXED"))
    except sqlite3.DataError:  # one is longer than any of ours
        return False
    with book.database.snapshot():
        return there == checks.digest(book.database.streamed(sql))


def _pour_table(
    db: sqlite3.Connection, book: Book, table: type[Model], there: frozenset[str], named: Path
) -> None:
    name, fields = table._meta.table_name, table._meta.sorted_fields
    columns = ", ".join(f'"{field.column_name}"' for field in fields)
    marks = ", ".join("?" * len(fields))
    end = " ON CONFLICT (key) DO UPDATE SET value = excluded.value" if table is Meta else ""
    rows = _fit(_read(db, table, there), table, named)
    for some in parted(rows, AT_ONCE):
        book.database.many(f'INSERT INTO "{name}" ({columns}) VALUES ({marks}){end}', some)


def _read(db: sqlite3.Connection, table: type[Model], there: frozenset[str]) -> Iterator[Values]:
    """Give the rows of a table by its columns; one that an older format lacks has its default."""
    fields = table._meta.sorted_fields
    lacking = {field.column_name: field.default for field in fields} if there else {}
    columns = [field.column_name for field in fields if field.column_name in there]
    if not columns:
        return
    sql = f'SELECT {", ".join(columns)} FROM "{table._meta.table_name}" NOT INDEXED'
    for row in db.execute(sql):
        yield {**lacking, **dict(zip(columns, row, strict=True))}


def _fit(rows: Iterator[Values], table: type[Model], named: Path) -> Iterator[tuple[Any, ...]]:
    """Give rows that a book could have written. Raises BookError at the first that is none."""
    fields = table._meta.sorted_fields
    for number, row in enumerate(rows, start=1):
        is_typed = all(_is_typed(field, row[field.column_name]) for field in fields)
        if table is Meta and is_typed and row["key"] in MADE:
            continue
        reason = LOOK[table](row) if is_typed else "its values have another type"
        if reason:
            name = table._meta.table_name
            raise BookError(checks.broken(named, f"row {number} of {name}, {reason}"))
        yield tuple(row[field.column_name] for field in fields)


def _is_typed(field: Field, value: Any) -> bool:
    if value is None:
        return bool(field.null)
    if isinstance(field, BooleanField):
        return value in (0, 1)
    return isinstance(value, int if isinstance(field, IntegerField) else str)


def _meta_problem(row: Values) -> str:
    if any(len(row[name]) > most or "\0" in row[name] for name, most in LONGEST.items()):
        return "it is too long, or not text"
    if row["key"] in ("id", "desk") and not UUID.fullmatch(row["value"]):
        return f"its {row['key']} is not a UUID"
    return ""


def _change_problem(row: Values) -> str:
    if not 1 <= row["seq"] <= LAST_NUMBER:
        return "it has no number"
    if not (rules.NAME.fullmatch(row["kind"]) and rules.NAME.fullmatch(row["field"])):
        return "it has no kind or no field"
    # The book itself may name more stamps in a base than a device may.
    base = row["base"].split()
    if " ".join(base) != row["base"] or not all(map(clock.STAMP.fullmatch, base)):
        return "its base is malformed"
    try:
        pieces.parsed(row["value"])
    except ValueError as error:
        return f"its value is not JSON ({error})"
    sent = reading.as_sent(row) | {"base": ""}
    return rules.form_problem(sent) or reading.arrival_problem(row) or ""


def _contested_problem(row: Values) -> str:
    if not 1 <= row["key"] <= LAST_NUMBER:
        return "it has no number"
    one = {name: row[name] for name in ("id", "content", "received")}
    return "" if reading.is_contested(one) else "it holds no change"


def _device_problem(row: Values) -> str:
    moments = [row["paired"], row["seen"], row["revoked"] or 0]
    texts = [value for value in row.values() if isinstance(value, str)]
    if not UUID.fullmatch(row["id"]) or row["role"] not in devices.ROLES:
        return "it is not a device"
    if not all(len(text) <= LONGEST_WORD and text.isprintable() for text in texts):
        return "it is too long, or not text"
    return "" if all(map(reading.is_moment, moments)) else "its moment of pairing is missing"


LOOK = {
    Meta: _meta_problem,
    Change: _change_problem,
    Contested: _contested_problem,
    Device: _device_problem,
}
