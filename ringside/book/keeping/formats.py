"""An older format of the book, and its way to the present one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from ringside.book import opening, store
from ringside.book.databases import Postgres
from ringside.book.keeping import checks, copying, files
from ringside.book.place import Place
from ringside.book.store import Book

# From each older format, the step to the next one, within a transaction that `migrate` holds.
# It is given a connection, whose `execute` both databases have.
MIGRATIONS: dict[int, Callable[[Any], None]] = {}


def open_book(place: Place) -> Book:
    """Open the book at `place`, or make it; an older one is brought on. Raises BookError."""
    return opening.open_at(place, migrate)


@contextmanager
def opened_book(place: Place) -> Iterator[Book]:
    """Open the book at `place` for a while, with a session of its."""
    with opening.opened_at(place, migrate) as book:
        yield book


def migrate(book: Book, from_format: int) -> None:
    """Bring the book to the present format, all or nothing, after making a copy."""
    steps = range(from_format, store.FORMAT)
    if not all(step in MIGRATIONS for step in steps):
        opening.too_old(book, from_format)
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
