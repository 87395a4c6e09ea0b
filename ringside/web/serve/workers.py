"""Threads for what the app does."""

from __future__ import annotations

import threading
from collections.abc import Callable
from queue import SimpleQueue


class Workers:
    """Up to so many threads, each begun when there is work and none is free, and then kept.

    They cannot keep the process from ending.
    """

    def __init__(self, most: int) -> None:
        self.most = most
        self.number = 0
        self._work: SimpleQueue[Callable[[], None] | None] = SimpleQueue()
        self._free = threading.Semaphore(0)

    def put(self, act: Callable[[], None]) -> None:
        """Have a thread do it; only one thread may call this."""
        self._work.put(act)
        if not self._free.acquire(blocking=False) and self.number < self.most:
            self.number += 1
            threading.Thread(target=self._run, daemon=True).start()

    def end(self) -> None:
        """Let each thread end with what it does."""
        for _ in range(self.number):
            self._work.put(None)

    def _run(self) -> None:
        while act := self._work.get():
            act()
            self._free.release()
