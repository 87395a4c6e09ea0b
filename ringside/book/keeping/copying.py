"""Making one copy of the book, and looking at it before it is kept."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from pathlib import Path

from peewee import BooleanField, Field, Model

from ringside.book import devices, opening, store
from ringside.book.blobs import Blobs
from ringside.book.databases.database import Row
from ringside.book.keeping import breeds, checks, files
from ringside.book.keeping.checks import Facts
from ringside.book.models import TABLES, Blob
from ringside.book.parts import parted
from ringside.book.place import Place
from ringside.book.store import Book, BookError

AT_ONCE = 2000  # rows


def copy(book: Book, target: Path) -> None:
    """Copy a book, whichever version made its rows: the copy has those of this one."""
    if book.place.url:
        copy_server(book, target)
    else:
        copy_file(book.place, target)


def copy_file(place: Place, target: Path) -> None:
    """Copy a book that is in a file, of whatever format and also while it is in use."""
    _copy(place, target, lambda draft: _from_file(place.file, draft))


def copy_as_it_is(place: Place, target: Path) -> None:
    """Copy a book that is in a file, whether its records match its changes or not."""
    with files.draft(target) as draft:
        _from_file(place.file, draft)
        breeds.put_into(draft, breeds.own_breeds(place))
        checks.checked(draft, target)
        checks.make_one_file(draft)


def copy_server(book: Book, target: Path) -> None:
    """Copy a book that is in a database server."""
    _copy(book.place, target, lambda draft: _from_server(book, draft))


def _copy(place: Place, target: Path, fill: Callable[[Path], Facts]) -> None:
    """Copy the book and look at the copy: it opens, is whole, is the same, and fits its log."""
    own = breeds.own_breeds(place)
    with files.draft(target) as draft:
        meant = fill(draft)
        breeds.put_into(draft, own)
        found = checks.checked(draft, target)
        if (
            (found.id, found.format) != (meant.id, meant.format)
            or found.newest < meant.newest
            or breeds.breeds_in(draft, target) != own
        ):
            raise BookError("The copy is not what was copied; try again, or check the disk.")
        if found.format == store.FORMAT:
            with opening.opened_at(Place.of_file(draft)) as book:
                if not checks.is_as_its_log(book):
                    raise BookError(
                        "The book's records do not match its changes, so the copy was not saved. "
                        "Use `ringside export` to save the changes themselves."
                    )
        checks.make_one_file(draft)


def _from_file(path: Path, draft: Path) -> Facts:
    with checks.open_file(path) as source, closing(sqlite3.connect(draft)) as copy:
        meant = checks.facts(source, path)
        source.backup(copy)  # in one step: a picture of one moment, which holds up nobody
    return meant


def _from_server(source: Book, draft: Path) -> Facts:
    meant = Facts(source.id, source.secret, store.FORMAT, source.newest())
    with opening.opened_at(Place.of_file(draft)) as copy:
        pour(source, copy)
    return meant


def pour(source: Book, target: Book, without: Iterable[type[Model]] = ()) -> None:
    """Put all rows of `source` in the place of those in `target`, at once; some tables can stay."""
    with source.database.snapshot(), target.writing():
        for table in [*TABLES, *devices.TABLES]:
            if table in without:
                continue
            name, fields = table._meta.table_name, table._meta.sorted_fields
            columns = ", ".join(f'"{field.column_name}"' for field in fields)
            rows = Blobs(source).each() if table is Blob else _rows(source, name, fields)
            marks = ", ".join("?" * len(fields))
            target.rows(f'DELETE FROM "{name}"')
            for some in parted(rows, AT_ONCE):
                target.database.many(f'INSERT INTO "{name}" ({columns}) VALUES ({marks})', some)
        target.database.renumber()


def _rows(source: Book, name: str, fields: list[Field]) -> Iterator[Row]:
    """Give the rows of a table, a few at a time, as both databases take them."""
    columns = ", ".join(f'"{field.column_name}"' for field in fields)
    flags = [isinstance(field, BooleanField) for field in fields]
    for row in source.database.streamed(f'SELECT {columns} FROM "{name}"'):
        yield tuple(
            # SQLite gives numbers for them, which PostgreSQL does not take.
            bool(value) if is_flag and value is not None else value
            for value, is_flag in zip(row, flags, strict=True)
        )
