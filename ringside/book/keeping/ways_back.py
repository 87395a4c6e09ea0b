"""The way back where a book is gone or damaged: the newest good copy, and the command for it."""

from __future__ import annotations

import shlex
import sys
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from ringside.book import opening
from ringside.book.keeping import checks
from ringside.book.place import Place
from ringside.book.store import Book, BookError

REPLACED = "-before-restore"


def need(place: Place) -> None:
    """Raise BookError where there is no book, with the way back if there is one."""
    try:
        opening.need(place)
    except BookError as error:
        way = way_back(place)
        raise BookError(f"{error} {way}" if way else str(error)) from error


def refuse_to_forget(book: Book, is_there: bool) -> None:
    """Raise BookError where a book is to be made beside the copies of one that is gone."""
    if not is_there and (way := way_back(book.place)):
        raise BookError(
            f"The book in {book.place} is gone, but there are copies of it. {way}\n"
            f"To begin an empty book anyway:\n  {command('serve', book.place, '--new')}"
        )


def begin_anew(book: Book, is_there: bool) -> None:
    """Raise BookError where there is a book already, though somebody asks for a new one."""
    if is_there:
        raise BookError(
            f"There is a book in {book.place}, so no new one was made; start without --new, "
            "or "
            "name another folder with --data."
        )


def way_back(place: Place) -> str:
    """Return how to come back to the newest good copy of a book, "" where there is no copy."""
    copies = _copies(place)
    for copy in copies:
        with suppress(BookError, OSError):
            found = checks.checked(copy, copy, "ro")
            changes = found.newest
            made = datetime.fromtimestamp(copy.stat().st_mtime)
            return (
                f"The newest good copy is from {made.day} {made:%B %Y, %H:%M} and holds "
                f"{changes:,} "
                f"change{'' if changes == 1 else 's'}{_photos(found.photos)}. "
                f"To put it back, stop every server of this "
                f"book and run:\n  {command('restore', place, str(copy))}"
            )
    if not copies:
        return ""
    return f"None of the {len(copies)} copies in {place.copies} can be read; look for another copy."


def _photos(number: int) -> str:
    return f" and {number:,} photo{'' if number == 1 else 's'}" if number else ""


def _copies(place: Place) -> list[Path]:
    """Return the copies beside a book, the newest first; last what somebody wanted to be rid of."""
    with suppress(OSError):
        found = {copy: copy.stat().st_mtime for copy in place.copies.glob("*.db")}
        return sorted(
            found,
            key=lambda copy: (REPLACED not in copy.name, found[copy], copy.name),
            reverse=True,
        )
    return []


def command(name: str, place: Place, *words: str) -> str:
    """Return a command of ours for the book at `place`, as it is typed here."""
    where = ["--data", str(place.data)] + (["--database", str(place)] if place.url else [])
    typed = ["ringside", name, *words, *where]
    if sys.platform == "win32":  # a path there holds no quotes
        return " ".join(f'"{word}"' if " " in word else word for word in typed)
    return shlex.join(typed)
