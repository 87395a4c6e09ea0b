"""Opening a book: what is there is looked at before it is touched, and made where nothing is.

This stands above the book and the devices, whose tables it makes, and below what keeps copies: who
opens a book says by a `Care` what is done before it is changed.
"""

from __future__ import annotations

import os
import secrets
import shutil
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import NoReturn

import uuid6

from ringside.book import devices, store
from ringside.book.databases import Postgres, is_full, is_read_only
from ringside.book.kinds import KINDS, Kind
from ringside.book.models import TABLES, Change, Meta, Record
from ringside.book.place import Place
from ringside.book.projection import Told, unheard
from ringside.book.store import Book, BookError, BookUnavailable, out_of_reach


def need(place: Place) -> None:
    """Raise BookError where there is no book."""
    if not place.url and not (place.file.is_file() and place.file.stat().st_size):
        raise BookError(f"There is no book in {place.data}; name the folder that holds one.")


def too_old(place: object, number: int) -> str:
    """Return what to do about a book that cannot be brought on."""
    return (
        f"{place} is of format {number}, which this version cannot read. "
        "Export it with the version that wrote it, and import that."
    )


def refuse_old(book: Book, number: int) -> NoReturn:
    """Raise BookError for a book that cannot be brought on."""
    raise BookError(too_old(book.place, number))


def leave(book: Book) -> None:
    """Do nothing: what is opened is a copy itself."""


def begin_if_none(book: Book, is_there: bool) -> None:
    """Do nothing: a book is made where there is none."""


def no_way(place: Place) -> str:
    """Know of no copy."""
    return ""


@dataclass(frozen=True)
class Care:
    """What is done, within the lock that a book is opened by, before its opening changes it.

    `begin` hears whether there is a book, before one is made. `bring_on` brings an older format to
    the present one, after a copy. `set_aside` copies a book whose rows are made anew next, because
    another version made them; `tell` hears how far that is. With `leaves_rows` they stay as they
    are: that version may be serving them. `way_back` says how to come back to a copy of a book that
    cannot be read.
    """

    begin: Callable[[Book, bool], None] = begin_if_none
    bring_on: Callable[[Book, int], None] = refuse_old
    set_aside: Callable[[Book], None] = leave
    tell: Told = unheard
    leaves_rows: bool = False
    way_back: Callable[[Place], str] = no_way


NO_CARE = Care()


def open_at(place: Place, care: Care = NO_CARE, kinds: Mapping[str, Kind] = KINDS) -> Book:
    """Open the book at `place`, or make it. Raises BookError."""
    book = Book(place, kinds)
    try:
        with book.session(), book.database.opening():
            _prepare(book, care)
    except BookUnavailable as error:
        raise BookError(_unreadable(book, error, care)) from error
    finally:
        book.close()  # whoever opens it need not be the one who serves
    return book


@contextmanager
def opened_at(place: Place, care: Care = NO_CARE) -> Iterator[Book]:
    """Open the book at `place` for a while, with a session of its."""
    book = open_at(place, care)
    try:
        with book.session():
            yield book
    finally:
        book.close()


def _unreadable(book: Book, error: BookUnavailable, care: Care) -> str:
    place, cause = book.place, error.__cause__ or error
    if isinstance(book.database, Postgres):
        return out_of_reach(str(place), cause)
    if is_full(cause) or not _room(place):
        return f"The disk of {place.data} is full, so the book cannot be opened. Make room on it."
    if is_read_only(cause) or not os.access(place.data, os.W_OK):
        return (
            f"{place} is read-only here. Let this user write to it and to its folder, or "
            "name another folder with --data."
        )
    if "locked" in str(cause):
        return f"{place} is held by another program; stop that, then try again."
    back = care.way_back(place)
    way = f"{back}\nOr" if back else "Put a good copy in its place, or"
    return (
        f"{place} is not a book, or is damaged ({cause}). It was left as it is. "
        f"{way} name another folder with --data."
    )


def _room(place: Place) -> int:
    """Return how many bytes are left on the disk; one where nobody can tell."""
    try:
        return shutil.disk_usage(place.data).free
    except OSError:
        return 1


def _prepare(book: Book, care: Care) -> None:
    found = set(book.db.get_tables())
    care.begin(book, bool(found))
    is_brought_on = False
    if found:
        _refuse_unknown(book, found)
        is_brought_on = _migrate(book, care)
    # Only now: this may write into the file, which must not happen to another program's.
    book.database.settle()
    if not found:
        _make(book)
    ours = [*TABLES, *devices.TABLES]
    missing = [table for table in ours if table._meta.table_name not in found]
    if missing:
        with book.db.bind_ctx(missing), book.database.making():
            book.db.create_tables(missing)
    _add_columns(book)
    book.learn_id()
    if not book.is_kept_by_us() and not care.leaves_rows:
        if not is_brought_on and book.newest():
            care.set_aside(book)
        book.rebuild(care.tell)


def _add_columns(book: Book) -> None:
    """Give the rows of a former version what it did not have; they are made anew after it."""
    if "beside" in book.database.columns("record"):
        return
    with book.db.bind_ctx([Record]), book.database.making(), book.db.atomic():
        context = book.db.get_sql_context()
        column, _ = context.sql(Record.beside.ddl(context)).query()
        book.db.execute_sql(f"ALTER TABLE record ADD COLUMN {column}")
        Record.create_table()


def _refuse_unknown(book: Book, tables: set[str]) -> None:
    ours = {Meta._meta.table_name, Change._meta.table_name} <= tables
    number = (book.meta("format") or "") if ours else ""
    if not (number.isdecimal() and len(number) < 10):  # no number is read of thousands of digits
        raise BookError(
            f"{book.place} holds another program's data; it was left as it is. "
            "Name another folder with --data, or another --database."
        )
    if int(number) > store.FORMAT:
        raise BookError(f"{book.place} was written by a newer version; update Ringside first.")
    if strangers := book.database.strangers():
        raise BookError(
            f"{book.place} contains what no book has ({', '.join(strangers)[:200]}), which "
            "would run whenever the book is used. It was left as it is. Move it to another "
            "folder and "
            "`ringside restore` it from there: only its rows are taken over."
        )


def _migrate(book: Book, care: Care) -> bool:
    """Bring an older format to the present one; whether that was needed."""
    number = int(book.meta("format") or store.FORMAT)
    if number == store.FORMAT:
        return False
    care.bring_on(book, number)
    return True


def _make(book: Book) -> None:
    with book.db.bind_ctx(TABLES), book.database.making():
        book.db.create_tables(TABLES)
        if not book.meta("format"):  # else another process was a moment faster
            book.set_meta("format", str(store.FORMAT))
            book.set_meta("id", str(uuid6.uuid7()))
            book.set_meta("secret", secrets.token_hex(32))
            book.set_meta("kinds", book.digest)
