"""A lock of PostgreSQL's that a process keeps while it serves a book."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from ringside.book.databases.database import WAIT

if TYPE_CHECKING:
    import psycopg

LOOK_EVERY = 5  # seconds, whether a lock is still held


class KeptLock:
    """A lock that is taken again where its connection was cut, as by a restart of the server."""

    def __init__(
        self, held: psycopg.Connection, take: Callable[[], psycopg.Connection | None]
    ) -> None:
        """Keep what is `held`; `take` gives it anew, None while somebody else has it."""
        self._held: psycopg.Connection | None = held
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
                if self._held is None or self._held.closed:
                    self._held = self._take()
                else:
                    self._held.execute("SELECT 1")
        if self._held:
            self._held.close()
