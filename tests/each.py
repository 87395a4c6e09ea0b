"""Tests of one law for each of many: every breed, every row of a table.

As parameters they would be tests each of its own, some ten thousand, and what pytest does around a
test costs more than most of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, TypeVar

Item = TypeVar("Item")


def of_each(
    items: Iterable[Item], name: Callable[[Item], str] = str
) -> Callable[[Callable[[Item], None]], Callable[[], None]]:
    """Make of a test of one item a test of them all; what fails is told of each, under its name."""
    of_them = list(items)
    assert of_them, "There is nothing to test."

    def of_all(test: Callable[[Item], None]) -> Callable[[], None]:
        def whole() -> None:
            failed = [f"{name(item)}: {told}" for item in of_them if (told := failure(test, item))]
            assert not failed, "\n".join([f"{len(failed)} of {len(of_them)} failed", *failed])

        # Not functools.wraps: pytest would look for a fixture of the item's name.
        whole.__name__, whole.__doc__, whole.__module__ = (
            test.__name__,
            test.__doc__,
            test.__module__,
        )
        return whole

    return of_all


def failure(test: Callable[[Any], None], item: object) -> str:
    """What went wrong with the item, or nothing."""
    try:
        test(item)
    except Exception as error:
        return f"{type(error).__name__}: {error}"
    return ""
