"""What the book needs to know of its database, whichever of the two it is.

Each says in its own way how a connection is had, how one writer holds up the others, and how a list
is given to a query. All other SQL of the book is the same for both, written with `?`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Protocol

Row = tuple[Any, ...]
Errors = tuple[type[Exception], ...]

WAIT = 10  # seconds for a lock or a connection


class Database(Protocol):
    """What the book needs to know of its database."""

    db: Any
    # A query that gives the members of the JSON list in its one parameter.
    listed: str
    # What Peewee and the driver raise.
    errors: Errors

    @property
    def shown(self) -> str:
        """Where the book is, fit to be shown."""

    def columns(self, table: str) -> set[str]:
        """Return the names of the columns of a table."""

    def rows(self, sql: str, values: Sequence[Any]) -> list[Row]:
        """Run one statement; its rows, if it gives any."""

    def streamed(self, sql: str) -> Iterator[Row]:
        """Run one query and give its rows a few at a time; within a snapshot."""

    def many(self, sql: str, rows: Sequence[Row]) -> None:
        """Run one statement for each of `rows`."""

    def strangers(self) -> list[str]:
        """Return the names of what no book has, and what would run by itself at a read or write."""

    def opening(self) -> Any:
        """Return a context in which the book is looked at and made by one process at a time."""

    def settle(self) -> None:
        """Prepare what was recognised as a book, or is empty."""

    def making(self) -> Any:
        """Return a context in which tables are made."""

    def writing(self) -> Any:
        """Return a context that holds the one writer's lock."""

    def snapshot(self) -> Any:
        """Return a context in which everything is read as of one moment."""

    def renumber(self) -> None:
        """Go on counting behind the rows that were put in with their numbers."""

    def release(self) -> None:
        """End a request's use of this thread's connection."""

    def close(self) -> None:
        """Let go of every connection there is to let go of."""
