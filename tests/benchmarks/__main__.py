"""Measure, and print one table. Nothing is asserted: a machine's speed is no test result.

python -m tests.benchmarks [words]   run all, or those whose name contains one of the words
"""

from __future__ import annotations

import importlib
import pkgutil
import sys
from collections.abc import Sequence

import tests.benchmarks as package
from tests.benchmarks.registry import BENCHMARKS, Row

HEAD = ("what", "here", "beside", "ratio", "aim")


def cells(row: Row) -> tuple[str, ...]:
    ratio = "" if row.ratio is None else f"{row.ratio:.2f}"
    return (row.what, row.figure, row.beside, ratio, row.aim)


def table(rows: Sequence[Sequence[str]]) -> str:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
    return "\n".join([lines[0], "  ".join("-" * width for width in widths), *lines[1:]])


def main(words: Sequence[str]) -> int:
    for module in pkgutil.iter_modules(package.__path__):
        if module.name != "__main__":
            importlib.import_module(f"{package.__name__}.{module.name}")
    rows: list[tuple[str, ...]] = [HEAD]
    for measure in BENCHMARKS:
        if not words or any(word in measure.__name__ for word in words):
            print(f"measuring {measure.__name__} ...", file=sys.stderr, flush=True)
            rows += [cells(row) for row in measure()]
    print(table(rows))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
