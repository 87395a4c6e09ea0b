"""Whether the age is right: the stages of a life between a least and a greatest age."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal, NamedTuple

import ringside.domain.eligibility.words as words
from ringside.domain.days import DAY, month_later
from ringside.knowledge.regulation_schema import Bound, Outcome, Regulation


class Stage(NamedTuple):
    """A stretch of life as two bounds see it; `by` names the bound that speaks."""

    start: date
    state: Outcome
    says: str
    by: Literal["low", "high", "both"]
    readings: tuple[str, ...] = ()


def stages(
    regulation: Regulation, born: date, low: Bound | None, high: Bound | None
) -> Iterator[Stage]:
    """Yield the life of a dog as these bounds see it, from birth on."""
    floor = _Side(low, reached(regulation, born, low), True) if low else None
    ceiling = _Side(high, reached(regulation, born, high), False) if high else None
    turns = {day for side in (floor, ceiling) if side for day in side.days}
    last: Stage | None = None
    for start in sorted({born} | turns | {day + DAY for day in turns}):
        stage = _stage(floor, ceiling, start, born)
        if last is None or last._replace(start=start) != stage:
            yield stage
            last = stage


def reached(regulation: Regulation, born: date, bound: Bound) -> tuple[date, ...]:
    """Return the day on which the age is reached; both days where the body's text is silent."""
    days = bound.days()
    if days is not None:
        return (born + timedelta(days=days),)
    early, late = month_later(born, bound.months() or 0)
    if early == late:
        return (early,)
    leap_day = (born.month, born.day) == (2, 29)
    rule = regulation.leap_day if leap_day else regulation.month_end
    if rule.reading == "last day":
        return (early,)
    return (late,) if rule.reading == "next day" else (early, late)


@dataclass(frozen=True)
class _Side:
    """One bound of a class for one dog."""

    bound: Bound
    days: tuple[date, ...]
    low: bool

    def inside(self, day: date) -> dict[date, set[bool]]:
        """Return for each reading of the month whether `day` is inside, by each way to count."""
        ways = (True, False) if self.bound.inclusive == "silent" else (self.bound.inclusive,)
        return {reach: {self._is_in(day, reach, way) for way in ways} for reach in self.days}

    def _is_in(self, day: date, reach: date, inclusive: bool) -> bool:
        if day == reach:
            return inclusive
        return day > reach if self.low else day < reach

    def state(self, day: date) -> bool | None:
        """Return whether `day` is inside, or None where that is open."""
        if day not in self.days:
            outside = [self._is_in(day, reach, False) for reach in self.days]
            if len(set(outside)) == 1:
                return outside[0]
        found = set().union(*self.inside(day).values())
        return found.pop() if len(found) == 1 else None

    def open_stage(self, day: date, born: date) -> Stage:
        """Return what is said of a day that the text leaves open."""
        inside = self.inside(day)
        return Stage(
            day,
            "may if",
            words.open_age(self.bound, inside, born),
            "low" if self.low else "high",
            words.open_age_readings(self.bound, inside, born, low=self.low),
        )


def _stage(floor: _Side | None, ceiling: _Side | None, day: date, born: date) -> Stage:
    old_enough = floor.state(day) if floor else True
    young_enough = ceiling.state(day) if ceiling else True
    if floor and old_enough is False:
        return Stage(day, "may not", words.too_young(floor.bound, floor.days), "low")
    if ceiling and young_enough is False:
        return Stage(day, "may not", words.too_old(ceiling.bound, ceiling.days), "high")
    if floor and old_enough is None:
        return floor.open_stage(day, born)
    if ceiling and young_enough is None:
        return ceiling.open_stage(day, born)
    low, high = (side.bound if side else None for side in (floor, ceiling))
    return Stage(day, "may", words.right_age(low, high), "both")
