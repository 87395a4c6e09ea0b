"""An older format of the book, or rows that another version made, and the way to the present."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, NoReturn

from ringside.book import opening, store
from ringside.book.databases import Postgres
from ringside.book.keeping import checks, copying, files
from ringside.book.keeping.photos import sweep
from ringside.book.keeping.ways_back import refuse_to_forget, way_back
from ringside.book.kinds import KINDS, Kind
from ringside.book.opening import Care
from ringside.book.place import Place
from ringside.book.projection import Told
from ringside.book.store import Book, BookError

Begin = Callable[[Book, bool], None]
PATIENCE = 2  # seconds


def to_format_2(db: Any) -> None:
    """Drop the tables that format 1 had for each kind; the one for all is made from the log."""
    for table in (
        "dog", "note", "cue", "ask", "own_order", "walk", "tick", "practice", "show", "entry",
        "gate", "kit", "measure", "award",
    ):  # fmt: skip
        db.execute(f'DROP TABLE IF EXISTS "{table}"')
    db.execute("DELETE FROM meta WHERE key = 'dogs'")
    db.execute("ALTER TABLE device ADD COLUMN \"key\" TEXT NOT NULL DEFAULT ''")


# From each older format, the step to the next one, within a transaction that `migrate` holds.
# It is given a connection, whose `execute` both databases have. A restore takes the rows of an
# older copy without them (pouring.py): a step that gives a row another meaning must be told there.
MIGRATIONS: dict[int, Callable[[Any], None]] = {1: to_format_2}


def open_book(
    place: Place,
    kinds: Mapping[str, Kind] = KINDS,
    tell: Told | None = None,
    begin: Begin = refuse_to_forget,
) -> Book:
    """Open the book at `place`, or make it; an older one is brought on, after a copy.

    `tell` hears how far that is, else standard error; `begin` whether there is a book, and by
    itself it makes none beside the copies of one that is gone. Photos that nothing names any more
    go. Raises BookError.
    """
    was_there = place.url or place.file.exists()
    try:
        book = opening.open_at(place, _care(begin, tell), kinds)
    except BookError:
        if not was_there:
            _leave_nothing(place.file)
        raise
    sweep(book)
    book.close()  # whoever opens it need not be the one who serves
    return book


@contextmanager
def opened_book(place: Place, begin: Begin = refuse_to_forget) -> Iterator[Book]:
    """Open the book at `place` for a while, with a session of its."""
    with opening.opened_at(place, _care(begin)) as book:
        yield book


@contextmanager
def opened_as_it_is(place: Place) -> Iterator[Book]:
    """Open the book at `place` for a command, with a session of its.

    A server of another version may have it: its rows stay as that one made them, as
    `Book.is_kept_by_us` tells, and an older format is not brought on. Raises BookError.
    """
    care = Care(refuse_to_forget, _leave_format, leaves_rows=True, way_back=way_back)
    with opening.opened_at(place, care) as book:
        yield book


def _leave_format(book: Book, number: int) -> NoReturn:
    raise BookError(
        f"{book.place} is of format {number}; start `ringside serve`, which brings it to format "
        f"{store.FORMAT} after a copy, and try again."
    )


def _care(begin: Begin, tell: Told | None = None) -> Care:
    return Care(begin, migrate, set_aside, tell or Progress(), way_back=way_back)


def _leave_nothing(file: Path) -> None:
    """Remove the empty file that looking for a book has made."""
    with suppress(OSError):
        if not file.stat().st_size:
            file.unlink()


class Progress:
    """Tells on standard error how far the rows are made anew, once that takes its time."""

    def __init__(self) -> None:
        """Begin now."""
        self._next = time.monotonic() + PATIENCE

    def __call__(self, done: int, total: int) -> None:
        """Hear of so many changes of so many."""
        if time.monotonic() >= self._next:
            self._next = time.monotonic() + PATIENCE
            words = f"ringside: rebuilding the book, {done} of {total} changes"
            print(words, file=sys.stderr, flush=True)


def set_aside(book: Book) -> None:
    """Copy a book, as it is, whose rows are made anew next."""
    with files.told("The copy before the rows are rebuilt", *book.database.errors):
        if isinstance(book.database, Postgres):
            book.database.set_tables_aside("before_rebuild")
        else:
            copying.copy_as_it_is(book.place, files.named_now(book.place, "-before-rebuild"))


def migrate(book: Book, from_format: int) -> None:
    """Bring the book to the present format, all or nothing, after making a copy."""
    steps = range(from_format, store.FORMAT)
    if not all(step in MIGRATIONS for step in steps):
        opening.refuse_old(book, from_format)
    with files.told("Bringing the book to the new format", *book.database.errors):
        if isinstance(book.database, Postgres):
            # Its tables may be others than those we know, so the copy stays in the database.
            book.database.set_tables_aside(f"before_format_{store.FORMAT}")
            _step(book.db.connection(), steps)
            return
        target = files.named_now(book.place, f"-before-format-{store.FORMAT}")
        copying.copy_file(book.place, target)
        with checks.open_file(book.place.file) as db:
            db.execute("BEGIN IMMEDIATE")
            # Another process may have been faster.
            _step(db, range(checks.facts(db, book.place.file).format, store.FORMAT))
            db.execute("COMMIT")


def _step(db: Any, steps: range) -> None:
    for step in steps:
        MIGRATIONS[step](db)
        db.execute(f"UPDATE meta SET value = '{step + 1}' WHERE key = 'format'")
