"""What came from a client, gathered without a thread, and what goes to it."""

from __future__ import annotations

import re
import socket
from collections import deque
from collections.abc import Callable

from ringside.web.serve.bounds import AHEAD, MOST_HEADERS

# How much of a request to wait for. What it means StrictRequest alone says, when it is there.
HEAD_END = re.compile(rb"\n\r?\n")
LENGTH = re.compile(rb"\ncontent-length:[ \t]*([0-9]{1,12})[ \t]*\r?\n", re.IGNORECASE)
UNMEASURED = re.compile(rb"\ntransfer-encoding:", re.IGNORECASE)
ASKS_FIRST = re.compile(rb"\nexpect:[ \t]*100-continue[ \t]*\r?\n", re.IGNORECASE)

CONTINUE = b"HTTP/1.1 100 Continue\r\n\r\n"
PIECE = 16 * 1024  # bytes: shorter ones are put together, so that they travel together
AT_ONCE = 256 * 1024


class Incoming:
    """The bytes of requests: first gathered, then read as a file that does not wait.

    Only where a body is too long to be gathered is the rest waited for as it is read.
    """

    def __init__(self, more: Callable[[], bytes]) -> None:
        """Wait for more of a long body with `more`, which gives b"" at the end."""
        self._more = more
        self._bytes = bytearray()
        self._searched = 0
        self.expect_next()

    def __len__(self) -> int:
        return len(self._bytes)

    def expect_next(self) -> None:
        """Begin to look for the end of the next request."""
        self._searched = 0
        self.size = 0  # of head and body, once the head has come
        self.is_long = False
        self.asks_first = False  # the client waits to be told to send the body

    def add(self, some: bytes) -> None:
        """Keep what came."""
        self._bytes += some

    def is_whole(self) -> bool:
        """Return whether a request is here, or as much of one as is gathered."""
        if not self.size:
            self._look_for_head()
        if not self.size:
            return len(self) > MOST_HEADERS
        return self.is_long or len(self) >= self.size

    def _look_for_head(self) -> None:
        found = HEAD_END.search(self._bytes, self._searched)
        self._searched = max(0, len(self) - 2)
        if found is None or found.end() > MOST_HEADERS:
            return
        head = bytes(self._bytes[: found.end()])
        length = LENGTH.search(head)
        self.size = found.end() + int(length[1] if length else 0)
        self.is_long = self.size > AHEAD or bool(UNMEASURED.search(head))
        self.asks_first = len(self) < self.size and bool(ASKS_FIRST.search(head))

    def read(self, size: int) -> bytes:
        """Return `size` bytes, fewer if there are no more. Raises OSError if none come."""
        while len(self) < size and self._waited_for_more():
            pass
        return self._take(size)

    def readline(self, size: int = MOST_HEADERS) -> bytes:
        """Return a line, or its first `size` bytes."""
        while not (end := self._bytes.find(b"\n", 0, size) + 1):
            if len(self) >= size or not self._waited_for_more():
                return self._take(size)
        return self._take(end)

    def _waited_for_more(self) -> bool:
        some = self._more() if self.is_long else b""
        self.add(some)
        return bool(some)

    def _take(self, size: int) -> bytes:
        taken = bytes(self._bytes[:size])
        del self._bytes[:size]
        return taken


class Outgoing:
    """What is to be sent. It is kept as the app gave it, so that a file that many take is one."""

    def __init__(self) -> None:
        self._parts: deque[memoryview] = deque()

    def __bool__(self) -> bool:
        return bool(self._parts)

    def write(self, some: bytes) -> None:
        """Put something behind the rest."""
        if self._parts and len(self._parts[-1]) + len(some) <= PIECE:
            some = bytes(self._parts.pop()) + some
        if some:
            self._parts.append(memoryview(some))

    def clear(self) -> None:
        """Take all of it back."""
        self._parts.clear()

    def send_some(self, sock: socket.socket) -> int:
        """Send as much as goes at once; return how much. Raises OSError if nothing goes."""
        sent = sock.send(self._parts[0][:AT_ONCE])
        rest = self._parts.popleft()[sent:]
        if rest:
            self._parts.appendleft(rest)
        return sent
