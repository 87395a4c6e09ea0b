"""Looking into a file that should be a book: what it says of itself, and whether it is whole."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ringside.book import devices, store
from ringside.book.databases import is_full
from ringside.book.models import TABLES
from ringside.book.projection import COLUMNS
from ringside.book.store import Book, BookError

MAGIC = b"SQLite format 3\0"
OURS = {table._meta.table_name for table in (*TABLES, *devices.TABLES)}
# The indexes of ours that hold some rows alone.
PARTIAL = {
    f'CREATE INDEX "record_{flag}" ON "record" ("kind") WHERE "{flag}"'
    for flag in ("apart", "deleted")
} | {'CREATE INDEX "record_beside" ON "record" ("kind", "beside") WHERE "beside" <> \'\''}
ROWID = -1  # stands for no column in what SQLite tells of an index; less stands for a formula
MOST_LENGTH = 16 * 1024 * 1024  # bytes of a value: texts that were written apart, all together
MOST_SQL = 100_000
MOST_META = 1000  # rows
FOREIGN = {
    "trusted_schema": "off", "cell_size_check": "on", "ignore_check_constraints": "on",
    "mmap_size": 0, "query_only": "on",
}  # fmt: skip


class _Undo(Exception):
    """Leaves a transaction without its changes."""


@dataclass(frozen=True)
class Facts:
    """What a file says of the book in it."""

    id: str
    secret: str
    format: int
    newest: int
    photos: int = 0


def open_file(path: Path, mode: str = "rw") -> closing[sqlite3.Connection]:
    """Open a file with SQLite itself; `mode` is "rw" or "ro"."""
    uri = f"{path.absolute().as_uri()}?mode={mode}"
    return closing(sqlite3.connect(uri, uri=True, timeout=10, isolation_level=None))


@contextmanager
def open_foreign(path: Path, mode: str = "rw") -> Iterator[sqlite3.Connection]:
    """Open a file that anybody may have made, to be read by statements of ours alone.

    What its schema asks to be computed is not, and no value may fill the memory.
    """
    with open_file(path, mode) as db:
        db.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, MOST_LENGTH)
        db.setlimit(sqlite3.SQLITE_LIMIT_SQL_LENGTH, MOST_SQL)
        for name, value in FOREIGN.items():
            db.execute(f"PRAGMA {name} = {value}")
        yield db


def facts(db: sqlite3.Connection, path: Path) -> Facts:
    """Return what the book says of itself. Raises BookError if it is none, or too new."""
    said: dict[str, str] = {}
    tables = plain_tables(db)
    if {"meta", "change"} <= tables.keys():
        with suppress(sqlite3.OperationalError):  # other columns: another program's
            said = dict(db.execute(f"SELECT key, value FROM meta LIMIT {MOST_META}"))
    number = str(said.get("format", ""))
    if not _is_number(number) or not said.get("id"):
        raise BookError(_foreign(path))
    if int(number) > store.FORMAT:
        raise BookError(f"{path} was written by a newer version; update Ringside first.")
    newest = db.execute("SELECT COALESCE(MAX(seq), 0) FROM change").fetchone()[0]
    sql = "SELECT COUNT(*) FROM blob NOT INDEXED"
    photos = db.execute(sql).fetchone()[0] if "blob" in tables else 0
    return Facts(str(said["id"]), str(said.get("secret", "")), int(number), newest, photos)


def _is_number(text: str) -> bool:
    """Whether it is the number of a format: Python reads no number of thousands of digits."""
    return text.isascii() and text.isdecimal() and len(text) < 10


def plain_tables(db: sqlite3.Connection) -> dict[str, frozenset[str]]:
    """Return the columns of each table that is stored as it is: no view, nothing computed."""
    sql = "SELECT name FROM sqlite_master WHERE type = 'table' AND rootpage > 0"
    found = {}
    for (name,) in db.execute(sql).fetchall():
        columns = db.execute("SELECT name, hidden FROM pragma_table_xinfo(?)", (name,)).fetchall()
        if not any(hidden for _, hidden in columns):
            found[name] = frozenset(column for column, _ in columns)
    return found


def _foreign(path: Path) -> str:
    return f"{path} is not a book of Ringside's; nothing was changed. Name another file."


def checked(draft: Path, named: Path, mode: str = "rw") -> Facts:
    """Return the facts of a whole file; `named` is what a person knows it by.

    With `mode` "ro" the file is left without a trace. Raises BookError.
    """
    with draft.open("rb") as file:
        if file.read(len(MAGIC)) != MAGIC:
            raise BookError(_foreign(named))
    with broken_told(named), open_foreign(draft, mode) as db:
        # Before anything is read at length: pages that lead to each other have no end.
        for table in OURS & plain_tables(db).keys():
            if reason := _damage(db, table):
                raise BookError(broken(named, reason))
        return facts(db, named)


def _damage(db: sqlite3.Connection, table: str) -> str:
    """Return what is wrong with the pages of a table and its indexes, "" if nothing is."""
    # What an index computes would be computed by the check.
    sql = """
        SELECT list.name, list.partial, MIN(info.cid) FROM pragma_index_list(?) AS list,
        pragma_index_xinfo(list.name) AS info GROUP BY list.name
    """
    for index, is_partial, column in db.execute(sql, (table,)).fetchall():
        if column < ROWID or (is_partial and not _is_ours(db, index)):
            return f"an index of the table {table} is not one of Ringside's"
    said = [row[0] for row in db.execute(f"PRAGMA integrity_check('{table}')")][:3]
    return "" if said == ["ok"] else "; ".join(map(str, said))


def _is_ours(db: sqlite3.Connection, index: str) -> bool:
    sql = "SELECT sql FROM sqlite_master WHERE type = 'index' AND name = ?"
    return db.execute(sql, (index,)).fetchone()[0] in PARTIAL


@contextmanager
def broken_told(named: Path) -> Iterator[None]:
    """Turn what SQLite says of a broken file into a sentence with what to do."""
    try:
        yield
    except UnicodeDecodeError as error:
        raise BookError(broken(named, "part of its text cannot be read")) from error
    except RecursionError as error:
        raise BookError(broken(named, "a value in it is nested too deep")) from error
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
    return is_full(error) or name.startswith(("SQLITE_IOERR", "SQLITE_CANTOPEN"))


def make_one_file(path: Path) -> None:
    """Fold the write-ahead log into the book, so that it is one file."""
    with open_file(path) as db:
        db.execute("PRAGMA journal_mode = delete").fetchone()


def _digest(book: Book) -> int:
    """Return a hash of all rows."""
    return digest(book.database.streamed(f"SELECT {', '.join(COLUMNS)} FROM record"))


def digest(rows: Iterable[tuple[Any, ...]]) -> int:
    """Return a hash of rows, whatever their order: a book need not fit into the memory."""
    return sum(
        int.from_bytes(hashlib.sha256(repr(row).encode(errors="replace")).digest(), "big")
        for row in rows
    )


def is_as_its_log(book: Book) -> bool:
    """Whether projecting the log anew gives what stands there; changes nothing."""
    with book.database.snapshot():
        before = _digest(book)
    after = -1
    with suppress(_Undo), book.writing():
        book.rebuild()
        after = _digest(book)
        raise _Undo
    return before == after
