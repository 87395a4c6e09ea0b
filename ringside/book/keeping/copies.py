"""The folder of copies: those that somebody makes, and one a day that the server makes.

Those named `daily-<day>.db` are made and removed by the server; every other one is somebody's own
and is never removed.
"""

from __future__ import annotations

import re
import sys
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import date
from pathlib import Path

from ringside.book.keeping import breeds, checks, copying, files, locks
from ringside.book.keeping.formats import opened_as_it_is
from ringside.book.keeping.notices import Notices
from ringside.book.keeping.photos import sweep
from ringside.book.keeping.ways_back import need
from ringside.book.place import Place
from ringside.book.store import Book, BookError

DAILY = re.compile(r"daily-[0-9]{8}\.db")
MOST_DAILY = 14
LOOK_EVERY = 600  # seconds


def backup(place: Place, target: Path | None = None) -> Path:
    """Copy the book, which may be in use, to `target` or its copies; where it went."""
    need(place)
    with files.told("The copy"), locks.serving(place):
        target = target or files.named_now(place)
        if target.exists():
            raise BookError(f"There is a file {target} already; choose another name.")
        if DAILY.fullmatch(target.name) and target.parent.resolve() == place.copies.resolve():
            raise BookError(f"The server removes copies named like {target.name}; choose another.")
        if place.url:
            with opened_as_it_is(place) as book:
                copying.copy_server(book, target)
        else:
            copying.copy_file(place, target)
    return target


def daily(place: Place, today: date) -> Path | None:
    """Make today's copy unless there is one or nothing to copy; remove the oldest beyond 14.

    Then photos go that nothing names any more: they are in that copy still. Where another version
    has made the rows its own since the book was opened, all that is left to its server.
    """
    with files.told("The daily copy"):
        folder = place.copies
        target = folder / f"daily-{today:%Y%m%d}.db"
        if target.exists():
            return None
        if not _newest(place) and not breeds.own_breeds(place):
            return None
        with _served(place) as book:
            if not book.is_kept_by_us():
                return None
            files.private_folder(folder)
            copying.copy(book, target)
            sweep(book)
        own = sorted(entry for entry in folder.iterdir() if DAILY.fullmatch(entry.name))
        for old in own[:-MOST_DAILY]:
            if old != target:  # a clock set back must not cost the newest one
                old.unlink()
    return target


def _newest(place: Place) -> int:
    if place.url:
        with _served(place) as book:
            return book.newest()
    with checks.open_file(place.file) as db:
        return checks.facts(db, place.file).newest


@contextmanager
def _served(place: Place) -> Iterator[Book]:
    """Have the book that our server opened, with a session: opening it anew could take it over."""
    with closing(Book(place)) as book, book.session():
        book.learn_id()
        yield book


@contextmanager
def kept_daily(place: Place, notices: Notices | None = None) -> Iterator[None]:
    """Have a thread make the daily copies of the book and look at its pages, the first time now.

    `notices` hears what is wrong.
    """
    stop = threading.Event()
    heard = notices or Notices(place)

    def keep() -> None:
        while True:
            today = date.today()
            heard.look(today, stop.is_set)
            try:
                daily(place, today)
                heard.note("copy", "")
            except BookError as error:
                print(f"ringside: {error}", file=sys.stderr, flush=True)
                heard.failed(error, today, stop.is_set)
            if stop.wait(LOOK_EVERY):
                return

    thread = threading.Thread(target=keep, name="daily copies", daemon=True)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join(10)
