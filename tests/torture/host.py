"""Start the real `ringside`, at the mercy of a torturer: python host.py serve ...

The folder in TORTURE_ORDERS holds the orders: `clock` (the server's clock is off by so many ms) and
`die-<moment>`, on which the process kills itself in the middle of the next write of changes:
"half" (they are in the log and not yet in the records), "whole" (before the commit), or "kept"
(after the commit, before the answer). One that finds `newer` there as it starts is of a build that
declares one kind of record more. The product knows nothing of this.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ORDERS = Path(os.environ["TORTURE_ORDERS"])

real_ns = time.time_ns
here = threading.local()  # whether this thread has changes in its transaction


def shifted_ns() -> int:
    try:
        return real_ns() + int((ORDERS / "clock").read_text(encoding="ascii")) * 1_000_000
    except (OSError, ValueError):
        return real_ns()


def die_if_told(moment: str) -> None:
    order = ORDERS / f"die-{moment}"
    if order.exists():
        order.unlink()
        os.kill(os.getpid(), signal.SIGKILL)


def torture(book: type[Any], projection: type[Any]) -> None:
    """Lay the deadly moments around the writing of a Book."""
    fold, writing = projection.fold, book.writing

    def deadly_fold(self: Any, edits: Any) -> None:
        made = list(edits)
        here.has_changes = bool(made)
        if made:
            die_if_told("half")
        fold(self, made)
        if made:
            die_if_told("whole")

    @contextmanager
    def deadly_writing(self: Any, *given: Any) -> Iterator[None]:
        here.has_changes = False
        with writing(self, *given):
            yield
        if here.has_changes:
            die_if_told("kept")

    projection.fold, book.writing = deadly_fold, deadly_writing


def declare_weather() -> None:
    """Make this process one of a newer build: before anything has looked at the kinds."""
    from ringside.book.kinds import KINDS
    from tests.torture.newer import WEATHER

    kinds: Any = KINDS
    kinds[WEATHER.name] = WEATHER


def main() -> int:
    time.time_ns = shifted_ns
    time.time = lambda: shifted_ns() / 1e9
    if (ORDERS / "newer").exists():
        declare_weather()
    from ringside import cli
    from ringside.book.projection import Projection
    from ringside.book.store import Book

    torture(Book, Projection)
    run: Callable[[], int] = cli.main
    return run()


if __name__ == "__main__":
    sys.exit(main())
