"""How often the truth lies inside the 90 % interval of readiness, where the dog keeps changing.

Nothing of this is a promise: the half-life is ours, and a skill that drifts faster is lagged
behind.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator

from ringside.domain.practice import Grade, Mark, Sums, readiness
from tests.benchmarks.registry import Row, benchmark

DOGS = 400
WEEKS = 26
MARKS = (0, 3)  # days of the week on which a station is marked
WANTED = "0.90"

# What the dog can do, in logits: from one week to the next, given the week and its chance.
Change = Callable[[float, int, random.Random], float]


def drifting(by: float) -> Change:
    return lambda skill, _, chance: skill + chance.gauss(0, by)


def reversal(skill: float, week: int, _: random.Random) -> float:
    return -skill if week == WEEKS - 3 else skill


TRUTHS: dict[str, Change] = {
    "that stays as it is": drifting(0),
    "drifting 0.15 logits a week": drifting(0.15),
    "drifting 0.30 logits a week": drifting(0.3),
    "drifting 0.50 logits a week": drifting(0.5),
    "turned round three weeks ago": reversal,
}


@benchmark
def readiness_covers_the_truth() -> Iterator[Row]:
    """Simulate stations marked twice a week for half a year, easy or not yet as chance has it."""
    for name, change in TRUTHS.items():
        chance = random.Random(name)
        inside = sum(_is_inside(change, chance) for _ in range(DOGS))
        yield Row(f"readiness of a skill {name}", f"{inside / DOGS:.2f} inside", "", None, WANTED)


def _is_inside(change: Change, chance: random.Random) -> bool:
    skill, sums = chance.gauss(0, 1), Sums()
    for week in range(WEEKS):
        skill = change(skill, week, chance)
        easy = 1 / (1 + math.exp(-skill))
        for day in MARKS:
            grade: Grade = "easy" if chance.random() < easy else "not yet"
            sums = sums.add(Mark(7 * week + day, grade))
    found = readiness(sums, 7 * WEEKS)
    return found.low <= easy <= found.high
