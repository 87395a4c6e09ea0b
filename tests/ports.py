"""Ports for servers, which no other run of tests on this machine takes meanwhile.

A port that the system picks can be somebody else's the moment it is let go: another test's, or the
near end of anyone's connection, and then a server cannot come back to it. So each process keeps a
row of ports to itself, below those that systems give out.
"""

from __future__ import annotations

import functools
import itertools
import os
import socket
from collections.abc import Iterator

# Above the last that browsers refuse (10080), and below the first that Linux gives out (32768).
FIRST, ROWS, LENGTH = 12_000, 40, 500


def free_port() -> int:
    return next(port for port in _row() if _is_free(port))


def free_pair() -> int:
    """A port that is free, and the next one too."""
    while True:
        port = free_port()
        if next(_row()) == port + 1 and _is_free(port + 1):
            return port


@functools.cache
def _row() -> Iterator[int]:
    """The ports of this process, round and round, so that one just used is the last to come."""
    for number in range(ROWS):
        first = FIRST + LENGTH * ((os.getpid() + number) % ROWS)
        # Nothing here speaks UDP: a port of it can stand for the row, and is let go at the end.
        kept = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        try:
            kept.bind(("127.0.0.1", first))
        except OSError:
            kept.close()
            continue
        _kept.append(kept)
        return itertools.cycle(range(first, first + LENGTH))
    raise RuntimeError(f"All {ROWS} rows of ports are taken: too many runs of tests at once.")


_kept: list[socket.socket] = []


def _is_free(port: int) -> bool:
    with socket.socket() as probe:
        try:
            probe.bind(("127.0.0.1", port))
        except OSError:
            return False
    return True
