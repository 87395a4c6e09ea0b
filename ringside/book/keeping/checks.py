"""Looking into a file that should be a book: what it says of itself, and whether it is whole."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from ringside.book import store
from ringside.book.kinds import KINDS
from ringside.book.store import Book, BookError

MAGIC = b"SQLite format 3\0"


class _Undo(Exception):
    """Leaves a transaction without its changes."""


@dataclass(frozen=True)
class Facts:
    """What a file says of the book in it."""

    id: str
    secret: str
    format: int
    newest: int


def open_file(path: Path, mode: str = "rw") -> closing[sqlite3.Connection]:
    """Open a file with SQLite itself; `mode` is "rw" or "ro"."""
    uri = f"{path.absolute().as_uri()}?mode={mode}"
    return closing(sqlite3.connect(uri, uri=True, timeout=10, isolation_level=None))


def facts(db: sqlite3.Connection, path: Path) -> Facts:
    """Return what the book says of itself. Raises BookError if it is none, or too new."""
    tables = {name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    said: dict[str, str] = {}
    if {"meta", "change"} <= tables:
        with suppress(sqlite3.OperationalError):  # other columns: another program's
            said = dict(db.execute("SELECT key, value FROM meta"))
    number = str(said.get("format", ""))
    if not (number.isascii() and number.isdecimal()) or not said.get("id"):
        raise BookError(_foreign(path))
    if int(number) > store.FORMAT:
        raise BookError(f"{path} was written by a newer version; update Ringside first.")
    newest = db.execute("SELECT COALESCE(MAX(seq), 0) FROM change").fetchone()[0]
    return Facts(str(said["id"]), str(said.get("secret", "")), int(number), newest)


def _foreign(path: Path) -> str:
    return f"{path} is not a book of Ringside's; nothing was changed. Name another file."


def checked(draft: Path, named: Path) -> Facts:
    """Return the facts of a whole file; `named` is what a person knows it by."""
    with draft.open("rb") as file:
        if file.read(len(MAGIC)) != MAGIC:
            raise BookError(_foreign(named))
    with broken_told(named), open_file(draft) as db:
        found = facts(db, named)
        said = [row[0] for row in db.execute("PRAGMA integrity_check(3)")]
    if said != ["ok"]:
        raise BookError(broken(named, "; ".join(map(str, said))))
    return found


@contextmanager
def broken_told(named: Path) -> Iterator[None]:
    """Turn what SQLite says of a broken file into a sentence with what to do."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        if is_for_want_of_room(error):
            raise
        raise BookError(broken(named, error)) from error


def broken(named: Path, reason: object) -> str:
    """Return what to do about a file that is broken."""
    return f"{named} is broken: {reason}. Nothing was changed; use another copy."


def is_for_want_of_room(error: sqlite3.Error) -> bool:
    """Whether it is the disk that fails, and not the file that is broken."""
    name = getattr(error, "sqlite_errorname", "")
    return name == "SQLITE_FULL" or name.startswith(("SQLITE_IOERR", "SQLITE_CANTOPEN"))


def make_one_file(path: Path) -> None:
    """Fold the write-ahead log into the book, so that it is one file."""
    with open_file(path) as db:
        db.execute("PRAGMA journal_mode = delete").fetchone()


def _digest(book: Book) -> str:
    """Return a hash of all rows."""
    summed = hashlib.sha256()
    for kind in KINDS:
        for row in book.rows("SELECT * FROM record WHERE kind = ? ORDER BY id", kind):
            summed.update(repr(row).encode(errors="replace"))
    return summed.hexdigest()


def is_as_its_log(book: Book) -> bool:
    """Whether projecting the log anew gives what stands there; changes nothing."""
    before = _digest(book)
    after = ""
    with suppress(_Undo), book.writing():
        book.rebuild()
        after = _digest(book)
        raise _Undo
    return before == after
