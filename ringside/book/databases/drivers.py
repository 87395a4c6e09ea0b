"""Peewee without the drivers of PostgreSQL, which it loads wherever they are installed.

They are eleven megabytes and a fifth of the time to start, and a book in a file needs none. So the
door of `book` has this module imported before any other that uses Peewee. A book in PostgreSQL
loads its driver when it is opened, and tells Peewee what it would have found there.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

DRIVERS = ("psycopg", "psycopg2")


@contextmanager
def _hidden(names: tuple[str, ...]) -> Iterator[None]:
    """Have modules that are not loaded yet be none, for as long."""
    hidden = [name for name in names if name not in sys.modules]
    sys.modules.update(dict.fromkeys(hidden))  # type: ignore[arg-type]  # None: there is none
    try:
        yield
    finally:
        for name in hidden:
            del sys.modules[name]


with _hidden(DRIVERS):
    from peewee import Psycopg3Adapter


class Adapter(Psycopg3Adapter):
    """What Peewee knows of the driver, which is loaded now."""

    def __init__(self) -> None:
        """Load the driver. Raises ImportError."""
        from psycopg.pq import TransactionStatus

        super().__init__()
        self.txn_idle = TransactionStatus.IDLE
        self.txn_inerror = TransactionStatus.INERROR
        self.txn_unknown = TransactionStatus.UNKNOWN

    def get_binary_type(self) -> Any:
        """Return what bytes are given as."""
        import psycopg

        return psycopg.Binary
