"""Locks of PostgreSQL's: one for a moment, and one that a process keeps while it serves a book."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import closing, suppress
from typing import TYPE_CHECKING

from ringside.book.databases.database import WAIT

if TYPE_CHECKING:
    import psycopg

LOOK_EVERY = 5  # seconds, whether a lock is still held


class Lock:
    """A lock with the connection that it lasts as long as."""

    def __init__(self, connection: psycopg.Connection) -> None:
        self._connection = connection

    def is_cut(self) -> bool:
        """Whether its connection is known to be gone, and it with that."""
        return self._connection.closed

    def look(self) -> None:
        """Ask the server for a sign of life. Raises psycopg.Error if there is none."""
        self._connection.execute("SELECT 1")

    def close(self) -> None:
        """Let it go, at once: of who only hangs up a server learns a moment later."""
        import psycopg

        with closing(self._connection), suppress(psycopg.Error):
            self._connection.execute("SELECT pg_advisory_unlock_all()")


class KeptLock:
    """A lock that is taken again where its connection was cut, as by a restart of the server."""

    def __init__(self, held: Lock, take: Callable[[], Lock | None]) -> None:
        """Keep what is `held`; `take` gives it anew, None while somebody else has it."""
        self._held: Lock | None = held
        self._take = take
        self._closing = threading.Event()
        self._thread = threading.Thread(target=self._keep, name="lock of the book", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Let it go."""
        self._closing.set()
        self._thread.join(WAIT)

    def _keep(self) -> None:
        import psycopg

        while not self._closing.wait(LOOK_EVERY):
            with suppress(psycopg.Error):  # it is away still
                if self._held is None or self._held.is_cut():
                    self._held = self._take()
                else:
                    self._held.look()
        if self._held:
            self._held.close()
