"""What a benchmark is: a function that measures and gives rows for the one table.

A module of this package registers its own with `@benchmark`; `python -m tests.benchmarks` finds
every module here and runs them all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from statistics import median
from time import perf_counter


@dataclass(frozen=True)
class Row:
    """One line: what was measured, the figure, what it is compared with, and the aim."""

    what: str
    figure: str
    beside: str = ""
    ratio: float | None = None
    aim: str = ""


Benchmark = Callable[[], Iterable[Row]]
BENCHMARKS: list[Benchmark] = []


def benchmark(measure: Benchmark) -> Benchmark:
    """Have `measure` run with the others."""
    BENCHMARKS.append(measure)
    return measure


def in_turn(rounds: int, *runs: Callable[[], object]) -> list[float]:
    """The median seconds of each of `runs`, run in turn so that all meet the same weather."""
    times: list[list[float]] = [[] for _ in runs]
    for _ in range(rounds):
        for run, taken in zip(runs, times, strict=True):
            start = perf_counter()
            run()
            taken.append(perf_counter() - start)
    return [median(taken) for taken in times]


def ms(seconds: float) -> str:
    """Seconds as milliseconds for the table."""
    return f"{seconds * 1000:.2f} ms" if seconds < 0.01 else f"{seconds * 1000:.0f} ms"
