"""A weak link between a browser and the real server: bytes in drops, and cuts."""

from __future__ import annotations

import contextlib
import random
import socket
import threading
import time

DROPS = 20  # a second


class WeakLink:
    """Carries what comes to `port` to the server at `target`, byte for byte.

    `rate` is how many bytes a second pass each way, None for all at once. With `cuts`, the
    connections are cut about every so many seconds. What is carried is counted in `carried`.
    """

    def __init__(self, target: int) -> None:
        self.target = target
        self.rate: int | None = None
        self.cuts: float | None = None
        self.carried = 0
        self.cut = 0
        self._chance = random.Random(target)
        self._is_over = threading.Event()
        self._open: set[socket.socket] = set()
        self._lock = threading.Lock()
        self._room = [0.0, 0.0]
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listener.getsockname()[1])
        self._threads = [self._begin(self._listen), self._begin(self._cut_now_and_then)]

    def _begin(self, work: object, *given: object) -> threading.Thread:
        thread = threading.Thread(target=work, args=given, daemon=True)  # type: ignore[arg-type]
        thread.start()
        return thread

    def _listen(self) -> None:
        while not self._is_over.is_set():
            try:
                call, _ = self._listener.accept()
            except OSError:
                return
            try:
                there = socket.create_connection(("127.0.0.1", self.target), 10)
            except OSError:
                call.close()
                continue
            for end in (call, there):
                # Small buffers: what is on the way is on the way, not in this machine's memory.
                end.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
                end.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, 4096)
            with self._lock:
                self._open |= {call, there}
            self._begin(self._carry, call, there, 0)
            self._begin(self._carry, there, call, 1)

    def _carry(self, one: socket.socket, other: socket.socket, way: int) -> None:
        with contextlib.suppress(OSError):
            while data := one.recv(self._drop()):
                if self.rate:
                    time.sleep(self._wait(len(data), way))
                other.sendall(data)
                self.carried += len(data)
        self._end(one, other)

    def _drop(self) -> int:
        return max(64, self.rate // DROPS) if self.rate else 65_536

    def _wait(self, size: int, way: int) -> float:
        """All connections share the link: how long these bytes wait for their turn."""
        assert self.rate
        with self._lock:
            now = time.monotonic()
            self._room[way] = max(self._room[way], now) + size / self.rate
            return self._room[way] - now

    def _cut_now_and_then(self) -> None:
        due = 0.0
        while not self._is_over.wait(0.1):
            if self.cuts and time.monotonic() >= due:
                if due:
                    self.cut += 1
                    self._end(*self._open)
                due = time.monotonic() + self.cuts * self._chance.uniform(0.5, 1.5)

    def _end(self, *ends: socket.socket) -> None:
        for end in ends:
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()
        with self._lock:
            self._open -= set(ends)

    def close(self) -> None:
        self._is_over.set()
        with contextlib.suppress(OSError):
            self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
        self._end(*self._open)
        for thread in self._threads:
            thread.join(5)
