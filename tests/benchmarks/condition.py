"""How often the weight on the day of a show falls into the range that was foretold for it.

Invented dogs, of which we know the truth. The constants of domain/condition.py were chosen by
looking at the first four rows; the others were looked at once. Printed, never asserted: a reader
of the screen is told where it is weak.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt

from ringside.domain.condition import SHARE, outlook
from tests.benchmarks.registry import Row, benchmark

DOGS = 1_500
FIRST = date(2026, 1, 1)
SCATTER = 0.01  # of the weight
KEPT = 0.6  # of an error that goes on to the next weighing
Truth = Callable[[float], float]


@dataclass(frozen=True)
class Case:
    """What dogs are like: how the weight runs, and how a scale errs about it.

    `truth` is made of a rate (part of the weight a day), the last weighing's day and chance.
    """

    what: str
    truth: Callable[[float, int, random.Random], Truth]
    errors: Callable[[int, random.Random], list[float]]
    aim: str = ""


def straight(rate: float, last: int, chance: random.Random) -> Truth:
    return lambda day: 1 + rate * day


def stops(rate: float, last: int, chance: random.Random) -> Truth:
    return lambda day: 1 + rate * min(day, last)


def slows(rate: float, last: int, chance: random.Random) -> Truth:
    return lambda day: 1 + rate * (min(day, last) + max(day - last, 0) / 2)


def steeper(rate: float, last: int, chance: random.Random) -> Truth:
    return lambda day: 1 + 2 * rate * day


def late(rate: float, last: int, chance: random.Random) -> Truth:
    return lambda day: 1 + rate * max(day - last / 2, 0)


def reverses(rate: float, last: int, chance: random.Random) -> Truth:
    return lambda day: 1 + rate * (min(day, last) - max(day - last, 0))


def wanders(rate: float, last: int, chance: random.Random) -> Truth:
    steps = [1.0]
    for _ in range(100):
        steps.append(steps[-1] + chance.gauss(0, SCATTER / 4))
    return lambda day: steps[int(day)]


def independent(count: int, chance: random.Random) -> list[float]:
    return [chance.gauss(0, SCATTER) for _ in range(count)]


def correlated(count: int, chance: random.Random) -> list[float]:
    found = [chance.gauss(0, SCATTER)]
    for _ in range(count - 1):
        found.append(KEPT * found[-1] + chance.gauss(0, SCATTER * sqrt(1 - KEPT**2)))
    return found


def heavy_tailed(count: int, chance: random.Random) -> list[float]:
    return [
        chance.gauss(0, SCATTER / 1.5) / sqrt(chance.gammavariate(1.5, 1 / 1.5))
        for _ in range(count)
    ]


def one_bad(count: int, chance: random.Random) -> list[float]:
    found = independent(count, chance)
    found[chance.randrange(count - 1)] += chance.choice((-1, 1)) * 3 * SCATTER
    return found


WEAK = "weak, said on the screen"
CASES = (
    Case("goes on in a line", straight, independent),
    Case("stops changing", stops, independent),
    Case("slows to half", slows, independent),
    Case("errors of a scale that hang together", straight, correlated),
    Case("not looked at: twice as steep", steeper, independent),
    Case("not looked at: heavy-tailed errors", straight, heavy_tailed),
    Case("not looked at: begins late", late, independent),
    Case("not looked at: a random walk (drift)", wanders, independent),
    Case("not looked at: one bad weighing", straight, one_bad),
    Case("not looked at: turns round (reversal)", reverses, independent, WEAK),
)


def tried(case: Case, chance: random.Random) -> bool | None:
    """Whether the weight on the day falls into the range; None where nothing is foretold."""
    count, span = chance.randrange(4, 9), chance.randrange(28, 43)
    days = [0, *sorted(chance.sample(range(1, span), count - 2)), span]
    ahead = span + chance.randrange(14, 22)
    truth = case.truth(chance.uniform(-0.01, 0.01) / 7, span, chance)
    *errors, last = case.errors(count + 1, chance)
    weighings = [
        {"what": "weight", "unit": "kg", "day": _day(day), "value": 20 * (truth(day) + error)}
        for day, error in zip(days, errors, strict=True)
    ]
    found = outlook(weighings, show=_day(ahead))["forecast"]
    return found and abs(20 * (truth(ahead) + last) - found["kg"]) <= found["half"]


def _day(day: int) -> str:
    return (FIRST + timedelta(day)).isoformat()


@benchmark
def coverage() -> Iterator[Row]:
    """The share of invented dogs whose weight fell into the range of four in five."""
    for case in CASES:
        chance = random.Random(7)
        held = [tried(case, chance) for _ in range(DOGS)]
        told = [one for one in held if one is not None]
        yield Row(
            f"weight on the day, {case.what}",
            f"{sum(told) / len(told):.2f}",
            f"refused {1 - len(told) / DOGS:.0%}",
            aim=case.aim or f"near {SHARE}",
        )
