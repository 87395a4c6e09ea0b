"""A book in a file: SQLite, with a connection a thread."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext, suppress
from pathlib import Path
from typing import Any

import peewee
from peewee import SqliteDatabase

from ringside.book.databases.database import WAIT, Errors, Row


class Connection(sqlite3.Connection):
    """A connection that its thread keeps, and that closes with the thread."""

    def __del__(self) -> None:
        """Close, and so let the last one of all fold the write-ahead log into the book."""
        with suppress(sqlite3.ProgrammingError):  # it could not be opened in the first place
            self.close()


class Sqlite:
    """A file of its own. Each thread keeps its connection."""

    listed = "SELECT value FROM json_each(?)"
    errors: Errors = (peewee.PeeweeException, sqlite3.Error)

    def __init__(self, path: Path) -> None:
        """Have the file at `path`, which is made if there is none. Raises OSError."""
        self.path = path
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not path.exists():  # the files SQLite makes beside it take their mode from this one
            with suppress(OSError):
                path.touch(mode=0o600)
        self.db = SqliteDatabase(
            str(path),
            pragmas={"synchronous": "full", "foreign_keys": 1, "busy_timeout": WAIT * 1000},
            factory=Connection,
        )
        self._line = threading.RLock()

    @property
    def shown(self) -> str:
        """The file."""
        return str(self.path)

    def columns(self, table: str) -> set[str]:
        """Return the names of the columns of a table."""
        sql = "SELECT name FROM pragma_table_info(?)"
        return {row[0] for row in self.rows(sql, (table,))}

    def rows(self, sql: str, values: Sequence[Any]) -> list[Row]:
        """Ask the connection itself: through Peewee a query takes half as long again."""
        return self._connection().execute(sql, values).fetchall()

    def streamed(self, sql: str) -> Iterator[Row]:
        """Run one query and give its rows a few at a time."""
        yield from self._connection().execute(sql)

    def many(self, sql: str, rows: Sequence[Row]) -> None:
        """Run one statement for each of `rows`."""
        self._connection().executemany(sql, rows)

    def _connection(self) -> sqlite3.Connection:
        connection: sqlite3.Connection = self.db.connection()  # type: ignore[no-untyped-call]
        return connection

    def strangers(self) -> list[str]:
        """Return the names of triggers and views: a file may come from anybody."""
        sql = "SELECT name FROM sqlite_master WHERE type IN ('trigger', 'view') ORDER BY name"
        return [name for (name,) in self.rows(sql, ())]

    def opening(self) -> Any:
        """Nothing to hold: SQLite has no lock that outlives a statement without a transaction."""
        return nullcontext()

    def settle(self) -> None:
        """Keep a write-ahead log, and the file to ourselves."""
        self.db.pragma("journal_mode", "wal")
        for file in (self.path, *(Path(f"{self.path}{end}") for end in ("-wal", "-shm"))):
            with suppress(OSError):  # there is none, or it is another user's
                file.chmod(0o600)

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Lock the file at once: a lock taken later may find that another was faster.

        Writers of this process wait for each other before that. Who waits for SQLite looks again
        and again, up to ten times a second, and among many somebody always comes too late.
        """
        if not self._line.acquire(timeout=WAIT):
            raise sqlite3.OperationalError("database is locked")
        try:
            with self.db.atomic("IMMEDIATE"):
                yield
        finally:
            self._line.release()

    making = writing

    def snapshot(self) -> Any:
        """A transaction sees the file as it was at its first query."""
        return self.db.atomic()

    def renumber(self) -> None:
        """Nothing: SQLite counts on from what there is."""

    def release(self) -> None:
        """Nothing: opening the file anew for each request would cost more than it."""

    def close(self) -> None:
        """Close this thread's connection."""
        self.db.close()
