"""Opening a book: what is there is looked at before it is touched, and made where nothing is.

This stands above the book and the devices, whose tables it makes, and below what keeps copies: who
opens a book says by a function how one of an older format is brought on.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import NoReturn

import uuid6

from ringside.book import devices, store
from ringside.book.databases import Postgres
from ringside.book.models import TABLES, Change, Meta
from ringside.book.place import Place
from ringside.book.store import Book, BookError, BookUnavailable, out_of_reach

# Brings a book from the older format it is in to the present one, within the lock it is opened by.
BringOn = Callable[[Book, int], None]


def need(place: Place) -> None:
    """Raise BookError where there is no book."""
    if not place.url and not place.file.is_file():
        raise BookError(f"There is no book in {place.data}; name the folder that holds one.")


def too_old(book: Book, number: int) -> NoReturn:
    """Raise BookError for a book that cannot be brought on."""
    raise BookError(
        f"{book.place} is of format {number}, which this version cannot read. "
        "Export it with the version that wrote it, and import that."
    )


def open_at(place: Place, bring_on: BringOn = too_old) -> Book:
    """Open the book at `place`, or make it. Raises BookError."""
    book = Book(place)
    try:
        with book.session(), book.database.opening():
            _prepare(book, bring_on)
    except BookUnavailable as error:
        raise BookError(_unreadable(book, error)) from error
    finally:
        book.close()  # whoever opens it need not be the one who serves
    return book


@contextmanager
def opened_at(place: Place, bring_on: BringOn = too_old) -> Iterator[Book]:
    """Open the book at `place` for a while, with a session of its."""
    book = open_at(place, bring_on)
    try:
        with book.session():
            yield book
    finally:
        book.close()


def _unreadable(book: Book, error: BookUnavailable) -> str:
    if isinstance(book.database, Postgres):
        return out_of_reach(str(book.place), error.__cause__)
    return (
        f"{book.place} is not a book that can be read ({error.__cause__}). It was left as it "
        "is. Put a good copy in its place, or name another folder with --data."
    )


def _prepare(book: Book, bring_on: BringOn) -> None:
    found = set(book.db.get_tables())
    if found:
        _refuse_unknown(book, found)
        _migrate(book, bring_on)
    # Only now: this may write into the file, which must not happen to another program's.
    book.database.settle()
    if not found:
        _make(book)
    missing = [table for table in devices.TABLES if table._meta.table_name not in found]
    if missing:
        with book.db.bind_ctx(missing), book.database.making():
            book.db.create_tables(missing)
    book.learn_id()


def _refuse_unknown(book: Book, tables: set[str]) -> None:
    ours = {Meta._meta.table_name, Change._meta.table_name} <= tables
    number = (book.meta("format") or "") if ours else ""
    if not number.isdecimal():
        raise BookError(
            f"{book.place} holds another program's data; it was left as it is. "
            "Name another folder with --data, or another --database."
        )
    if int(number) > store.FORMAT:
        raise BookError(f"{book.place} was written by a newer version; update Ringside first.")


def _migrate(book: Book, bring_on: BringOn) -> None:
    number = int(book.meta("format") or store.FORMAT)
    if number < store.FORMAT:
        bring_on(book, number)


def _make(book: Book) -> None:
    with book.db.bind_ctx(TABLES), book.database.making():
        book.db.create_tables(TABLES)
        if not book.meta("format"):  # else another process was a moment faster
            book.set_meta("format", str(store.FORMAT))
            book.set_meta("id", str(uuid6.uuid7()))
            book.set_meta("secret", secrets.token_hex(32))
