"""What is wrong with a book while it is served, to be told at the start and at the desk."""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
from collections.abc import Callable
from contextlib import suppress
from datetime import date

from ringside.book.databases import is_damaged
from ringside.book.keeping import checks
from ringside.book.keeping.ways_back import command, way_back
from ringside.book.place import Place
from ringside.book.store import Book

MOST_AT_START = 64 * 1024 * 1024  # bytes of a book whose pages are looked at before it is served
STEPS = 10_000  # of SQLite's, after which we see whether to go on
LITTLE_ROOM = 50 * 1024 * 1024  # bytes


def never() -> bool:
    """Go on."""
    return False


class Notices:
    """Sentences on what is wrong now, each with what to do. Several threads may use it."""

    def __init__(self, place: Place) -> None:
        """Look after the book at `place`."""
        self.place = place
        self._looked: date | None = None
        self._found: dict[str, str] = {}

    def note(self, about: str, words: str) -> None:
        """Have what is wrong with something told, or, with "", that it is right again."""
        self._found = {**self._found, about: words}

    def all(self, book: Book) -> list[str]:
        """Return what is wrong. Needs a session of the book."""
        found = dict(self._found)
        if "empty" in found and not _is_empty(book):
            del found["empty"]
        return [words for words in (*found.values(), book.trouble, *self._of_the_disk()) if words]

    def at_start(self, book: Book, today: date) -> list[str]:
        """Return what is wrong as the book is opened. Needs a session of it."""
        place = self.place
        if not place.url and place.file.stat().st_size <= MOST_AT_START:
            self.look(today)
        if _is_empty(book) and (way := way_back(place)):
            self.note("empty", f"This book is empty, but there are copies of a book. {way}")
        return self.all(book)

    def look(self, today: date, is_over: Callable[[], bool] = never) -> bool:
        """Look at every page of the book's file, once a day; whether it is damaged.

        `is_over` tells when to give up. A database server looks at its pages itself, and says so
        to whoever reads one.
        """
        if self.place.url or self._looked == today:
            return bool(self._found.get("damage"))
        self._looked = today
        reason = _damage(self.place, is_over)
        words = damaged(self.place, reason) if reason else ""
        if words and words != self._found.get("damage"):
            print(f"ringside: {words}", file=sys.stderr, flush=True)
        self.note("damage", words)
        return bool(words)

    def failed(self, error: Exception, today: date, is_over: Callable[[], bool]) -> None:
        """Hear that there is no copy of today, which a book that is damaged cannot have."""
        self._looked = None
        self.note("copy", "" if self.look(today, is_over) else str(error))

    def _of_the_disk(self) -> list[str]:
        found = []
        with suppress(OSError):
            free = shutil.disk_usage(self.place.data).free
            if free < LITTLE_ROOM:
                found.append(
                    f"Only {free // 1024 // 1024} MB are left on the disk of {self.place.data}. "
                    "Make room, or soon nothing can be saved."
                )
        file = self.place.file
        if self.place.url:
            return found
        if not file.exists():
            found.append(
                f"{file} is gone from its folder while the server is running. What is saved now "
                "is lost when the server stops, but phones still have it. "
                f"{way_back(self.place)}"
            )
        elif not os.access(file, os.W_OK):
            found.append(
                f"{file} is read-only here, so nothing can be saved. Let this user write to it "
                "and to its folder."
            )
        return found


def _is_empty(book: Book) -> bool:
    """Whether there is nothing in the book; one that cannot be read may hold a lot."""
    try:
        return not book.newest()
    except book.database.errors:
        return False


def damaged(place: Place, reason: str) -> str:
    """Return what to do about a book with pages that are no longer as they were written."""
    return (
        f"{place.file} is damaged ({reason[:200]}), and so is every copy made of it now. "
        "Save what can still be read:\n"
        f"  {command('export', place, 'everything.json')}\n"
        f"{way_back(place) or 'There is no copy; import that export into an empty folder.'}\n"
        "Phones then send again what they wrote since."
    )


def _damage(place: Place, is_over: Callable[[], bool]) -> str:
    """Return what is wrong with the file of a book, "" if nothing is or it cannot be looked at."""
    try:
        with checks.open_file(place.file, "ro") as db:
            db.set_progress_handler(lambda: int(is_over()), STEPS)
            said = str(db.execute("PRAGMA quick_check(1)").fetchone()[0])
    except sqlite3.DatabaseError as error:
        return str(error) if is_damaged(error) else ""
    return "" if said == "ok" else " ".join(said.split())
