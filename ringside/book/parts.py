"""Rows a part at a time: a book need not fit into the memory."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

MOST_LENGTH = 8 * 1024 * 1024  # characters, or bytes


def _length(row: tuple[Any, ...]) -> int:
    return sum(len(value) for value in row if isinstance(value, str | bytes))


def parted(
    rows: Iterable[Any], most: int, length: Callable[[Any], int] = _length
) -> Iterator[list[Any]]:
    """Give `rows` in lists of so many, or fewer long ones."""
    some: list[Any] = []
    left = MOST_LENGTH
    for row in rows:
        some.append(row)
        left -= length(row)
        if len(some) == most or left < 0:
            yield some
            some, left = [], MOST_LENGTH
    if some:
        yield some
