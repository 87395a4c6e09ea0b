"""The loop: the one thread that waits for all clients at once, and so for none."""

from __future__ import annotations

import contextlib
import errno
import selectors
import socket
import time
from collections import Counter, deque
from collections.abc import Iterable
from functools import partial
from typing import Any

from ringside.web.log import LOGGER, trace
from ringside.web.serve import bounds
from ringside.web.serve.connection import Connection
from ringside.web.serve.workers import Workers

LOOKED_AT = 0.5  # seconds: how often we see whom we no longer wait for
NEVER = float("inf")
NO_MORE_FILES = (errno.EMFILE, errno.ENFILE)


class Loop:
    """Takes clients in, gathers their requests, has them answered and sends what is not taken."""

    def __init__(self, server: Any, listener: socket.socket, workers: int) -> None:
        """Serve, with so many workers, the clients of `server` that come by `listener`."""
        self.server, self.listener = server, listener
        self.open: set[Connection] = set()
        self.workers, self.uploaders = Workers(workers), Workers(bounds.UPLOADERS)
        self._most = bounds.most_connections()
        self._answered: deque[Connection] = deque()
        self._stopped_at = NEVER
        self._is_over = False
        self._selector = selectors.DefaultSelector()
        self._bell, self._ears = socket.socketpair()
        for one in (listener, self._bell, self._ears):
            one.setblocking(False)
        self._selector.register(listener, selectors.EVENT_READ, self._accept)
        self._selector.register(self._ears, selectors.EVENT_READ, partial(self._ears.recv, 4096))

    @property
    def busy(self) -> list[Connection]:
        """The connections with a request under way."""
        return [one for one in tuple(self.open) if one.is_busy]

    @property
    def is_stopping(self) -> bool:
        """Whether no more requests are taken."""
        return self._stopped_at < NEVER

    def stop(self) -> None:
        """Finish what is open, in STOPPED_IN at most. Another thread calls this."""
        self._stopped_at = time.monotonic()
        self._ring()

    def run(self) -> int:
        """Serve until it is stopped; return how many requests were cut off."""
        looked = 0.0
        while not self._is_done():
            for key, _ in self._selector.select(LOOKED_AT):
                key.data()
            while self._answered:
                self._attend(self._answered.popleft())
            now = time.monotonic()
            if now >= looked + LOOKED_AT:
                looked = now
                self._let_go(now)
            if self.is_stopping:
                self._take_no_more()
        return self._end()

    def _is_done(self) -> bool:
        is_late = time.monotonic() >= self._stopped_at + bounds.STOPPED_IN
        return self.is_stopping and (is_late or not self.busy)

    def _ring(self) -> None:
        with contextlib.suppress(OSError):  # it rings already, or is over
            self._bell.send(b"!")

    # --- clients come and go

    def _accept(self) -> None:
        for _ in range(bounds.BACKLOG):
            try:
                sock, address = self.listener.accept()
            except OSError as error:
                if error.errno in NO_MORE_FILES:
                    self._make_room()
                return
            if len(self.open) < self._most or self._make_room():
                self._take_in(sock, *address[:2])
            else:
                sock.close()

    def _take_in(self, sock: socket.socket, address: str, port: int) -> None:
        try:
            connection = Connection(self.server, sock, address, port)
        except OSError:  # it is gone already
            sock.close()
            return
        self.open.add(connection)
        self._attend(connection)

    def _make_room(self) -> bool:
        found = who_gives_way(self.open)
        if found:
            self._close(found)
        return bool(found)

    def _let_go(self, now: float) -> None:
        for one in [one for one in self.open if one.waits_for and now >= one.until]:
            self._close(one)

    def _close(self, connection: Connection) -> None:
        self._wait(connection, 0)
        connection.close()
        self.open.discard(connection)

    # --- one client

    def _attend(self, connection: Connection) -> None:
        if connection not in self.open:  # it had to give way a moment ago
            return
        try:
            event = connection.advance()
        except OSError:
            self._close(connection)
        except Exception as error:
            LOGGER.error("A connection failed.", extra={"data": {"traceback": trace(error)}})
            self._close(connection)
        else:
            self._wait(connection, event)
            if not event:
                self._have_answered(connection)

    def _wait(self, connection: Connection, event: int) -> None:
        before, connection.waits_for = connection.waits_for, event
        if event == before:
            return
        if not event:
            self._selector.unregister(connection.socket)
        elif before:
            self._selector.modify(connection.socket, event, partial(self._attend, connection))
        else:
            self._selector.register(connection.socket, event, partial(self._attend, connection))

    def _have_answered(self, connection: Connection) -> None:
        # Who is not let in has no long body read, so those wait for each other alone.
        workers = self.uploaders if connection.rfile.is_long else self.workers
        workers.put(partial(self._answer, connection))

    def _answer(self, connection: Connection) -> None:
        connection.answer()
        self._answered.append(connection)
        self._ring()
        if self._is_over:
            connection.close()

    # --- the end

    def _take_no_more(self) -> None:
        if self.listener.fileno() >= 0:
            self._selector.unregister(self.listener)
            self.listener.close()
        for one in [one for one in self.open if not one.is_busy]:
            self._close(one)

    def _end(self) -> int:
        left = len(self.busy)
        self._is_over = True
        for one in tuple(self.open):
            if one.is_answered:
                one.cut()  # the thread that answers closes it
            else:
                self._close(one)
        self.workers.end()
        self.uploaders.end()
        self._selector.close()
        for sock in (self._bell, self._ears, self.listener):
            sock.close()
        return left


def who_gives_way(connections: Iterable[Connection]) -> Connection | None:
    """Return which connection is closed when there is room for no other, None if all are at work.

    It is one of the line that has the most, so that nobody takes the place of others; and of those
    the one that is waited for longest, so that a new one by the same line has its turn.
    """
    waiting = [one for one in connections if one.waits_for]
    held = Counter(one.line for one in waiting)
    return max(waiting, key=lambda one: (held[one.line], -one.pace.began), default=None)
