"""What was met."""

from __future__ import annotations

import collections
import threading
from collections.abc import Iterable


class Tally:
    """How often each fault was really met, and how often the checks afterwards found all well."""

    def __init__(self) -> None:
        self.met: collections.Counter[str] = collections.Counter()
        self.survived: collections.Counter[str] = collections.Counter()
        self._lock = threading.Lock()

    def count(self, fault: str) -> None:
        with self._lock:
            self.met[fault] += 1

    def add(self, other: Tally, all_is_well: bool) -> None:
        """Take in what one run met; all of it counts as survived if its checks found no fault."""
        self.met.update(other.met)
        if all_is_well:
            self.survived.update(other.met)

    def table(self) -> str:
        rows = [(fault, self.met[fault], self.survived[fault]) for fault in sorted(self.met)]
        total = ("in all", self.met.total(), self.survived.total())
        return "\n".join(_line(row) for row in [("fault", "met", "survived"), *rows, total])


def _line(cells: Iterable[object]) -> str:
    fault, met, survived = cells
    return f"{fault!s:<46}{met!s:>6}{survived!s:>10}"
