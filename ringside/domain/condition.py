"""What a dog will weigh on the day of a show, or why that cannot be said.

The phone works out the same, static/js/core/condition.js; tests/vectors/condition.json holds the
two together. Weighings are measures as limits.py has them, in any order. All sums are in kilograms
and days. Nothing here judges a dog's health: what is told ends with the vet.

The method is the project's own: least squares over the last six weeks; the slope is damped, for a
change seldom goes on as it began; the range is a quarter wider than the formula says, for that one
is too sure. `python -m tests.benchmarks` shows how often it holds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import cos, exp, pi, sin, sqrt, tan
from typing import Any

from ringside.domain.days import say_day
from ringside.domain.limits import UNITS, beyond, in_unit, tidy
from ringside.domain.says import Saying

Data = dict[str, Any]

WINDOW = 42  # days
DAMPING = 28  # days
WIDER = 1.25
SHARE = 0.8
FEWEST = 4
LEAST_SPAN = 21  # days
FARTHEST = 21  # days
LARGEST_JUMP = 5  # %
WIDEST = 5  # %
TOLD, WARNED = 1, 2  # % of the weight a week
GROWN = 365  # days
IDEAL = (4, 5)


@dataclass(frozen=True)
class Line:
    """A straight line through points: their number, means, slope and scatter."""

    count: int
    mean_day: float
    mean: float
    slope: float
    spread: float  # sum of squares of the days about their mean
    error: float  # standard deviation about the line

    def at(self, day: float) -> float:
        """Return the line's value on a day."""
        return self.mean + self.slope * (day - self.mean_day)


def fit(points: Sequence[tuple[float, float]]) -> Line:
    """Return the least squares line through (day, weight); three points, two days at least."""
    count = len(points)
    mean_day = sum(day for day, _ in points) / count
    mean = sum(weight for _, weight in points) / count
    spread = sum((day - mean_day) ** 2 for day, _ in points)
    slope = sum((day - mean_day) * (weight - mean) for day, weight in points) / spread
    off = sum((weight - mean - slope * (day - mean_day)) ** 2 for day, weight in points)
    return Line(count, mean_day, mean, slope, spread, sqrt(off / (count - 2)))


def t_of(share: float, freedom: int) -> float:
    """Return the t that `share` of Student's distribution lies within, on both sides of 0.

    By halving the angle atan(t/√freedom), for which the share is a finite sum (Abramowitz and
    Stegun, Handbook of Mathematical Functions, 1964, 26.7.3 and 26.7.4).
    """
    low, high = 0.0, pi / 2
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _within(middle, freedom) < share else (low, middle)
    return tan(low) * sqrt(freedom)


def _within(angle: float, freedom: int) -> float:
    odd, square = freedom % 2, cos(angle) ** 2
    term = cos(angle) if odd else 1.0
    total = term if freedom > 1 else 0.0
    for step in range(3 if odd else 2, freedom - 1, 2):
        term *= square * ((step - 1) / step)
        total += term
    return 2 / pi * (angle + sin(angle) * total) if odd else sin(angle) * total


def half_width(line: Line, day: float, share: float = SHARE) -> float:
    """Return by how much one more value on `day` may lie off the line, on either side."""
    away = (day - line.mean_day) ** 2 / line.spread
    return t_of(share, line.count - 2) * line.error * sqrt(1 + 1 / line.count + away)


def damped(days: float) -> float:
    """Return for how many days' worth of change to reckon."""
    return DAMPING * (1 - exp(-days / DAMPING))


# --- of one dog --------------------------------------------------------------------------------


def outlook(
    weighings: Sequence[Data],
    *,
    show: str | None,
    born: str | None = None,
    state: str | None = None,
    score: int | None = None,
    limits: Sequence[Data] = (),
) -> Data:
    """Return what can be said of a dog's weight: {"forecast", "why", "flags", "limits", "target"}.

    `show` is its day, `state` what was said last of the dog, `limits` those of the show's body.
    "forecast" is {"kg", "half", "days"} or None, then "why" says why not. "flags" are sayings.
    "limits" tell for each limit how the range stands to it: "within", "under", "over", "open".
    "target" is {"kg", "percent", "words"}, None where none is drawn; "words" may say why.
    """
    series = _series(weighings)
    recent = [point for point in series if point[0] >= series[-1][0] - WINDOW]
    why = _changes_by_itself(recent, born, state) or _too_little(recent)
    line = None if why else fit(recent)
    flags = _flags(line, recent, score)
    why = why or _jump(recent) or _day(recent, show)
    forecast = None
    if line and show and not why:
        forecast = _forecast(line, recent[-1][0], _number(show))
        if forecast["half"] > forecast["kg"] * WIDEST / 100:
            forecast, why = None, {"says": "too-wide"}
    weights = [limit for limit in limits if limit["what"] == "weight"]
    return {
        "forecast": forecast,
        "why": why,
        "flags": flags,
        "limits": [_stands(limit, forecast) for limit in weights] if forecast else [],
        "target": _target(recent, forecast, score, weights),
    }


def _series(weighings: Sequence[Data]) -> list[tuple[int, float]]:
    """Return the whole weighings as (day, kg), the oldest first."""
    return sorted(
        (_number(one["day"]), in_unit(one["value"], one["unit"], "kg"))
        for one in weighings
        if one.get("what") == "weight"
        and one.get("value")
        and one.get("day")
        and one.get("unit") in UNITS["weight"]
    )


def _number(day: str) -> int:
    return date.fromisoformat(day).toordinal()


def _changes_by_itself(
    recent: Sequence[tuple[int, float]], born: str | None, state: str | None
) -> Saying | None:
    if state and state != "well":
        return {"says": state.replace(" ", "-")}
    if recent and born and recent[-1][0] - _number(born) < GROWN:
        return {"says": "under-a-year"}
    return None


def _too_little(recent: Sequence[tuple[int, float]]) -> Saying | None:
    if not recent:
        return {"says": "no-weight"}
    if (more := FEWEST - len(recent)) > 0:
        return {"says": "too-few-by-one"} if more == 1 else {"says": "too-few", "more": more}
    span = recent[-1][0] - recent[0][0]
    return {"says": "too-short", "days": span} if span < LEAST_SPAN else None


def _jump(recent: Sequence[tuple[int, float]]) -> Saying | None:
    for (_, before), (day, after) in pairwise(recent):
        percent = abs(after - before) / before * 100
        if percent > LARGEST_JUMP:
            return {"says": "jump", "percent": tidy(percent), "day": _said(day)}
    return None


def _said(day: int) -> str:
    return say_day(date.fromordinal(day))


def _day(recent: Sequence[tuple[int, float]], show: str | None) -> Saying | None:
    if not show:
        return {"says": "no-show"}
    ahead = _number(show) - recent[-1][0]
    if ahead < 0:
        return {"says": "show-over"}
    span = recent[-1][0] - recent[0][0]
    if ahead > FARTHEST:
        return {"says": "too-far", "days": ahead, "most": FARTHEST}
    return {"says": "too-far-for-span", "days": ahead, "span": span} if ahead > span / 2 else None


def _forecast(line: Line, last: int, show: int) -> Data:
    """The range widens by the whole distance, though the slope is damped."""
    days = show - last
    kg = line.at(last) + line.slope * damped(days)
    return {"kg": kg, "half": WIDER * half_width(line, show), "days": days}


def _flags(
    line: Line | None, recent: Sequence[tuple[int, float]], score: int | None
) -> list[Saying]:
    flags: list[Saying] = []
    percent = line.slope * 7 / line.at(recent[-1][0]) * 100 if line else 0
    if abs(percent) > TOLD:
        side = "gains" if percent > 0 else "loses"
        fast = "-fast" if abs(percent) > WARNED else ""
        flags.append({"says": f"{side}{fast}", "percent": tidy(abs(percent))})
    if score and not IDEAL[0] <= score <= IDEAL[1]:
        flags.append({"says": "score-thin" if score < IDEAL[0] else "score-heavy", "score": score})
    return flags


def _stands(limit: Data, forecast: Data) -> str:
    ends = (forecast["kg"] - forecast["half"], forecast["kg"] + forecast["half"])
    low, high = (beyond(limit, in_unit(kg, "kg", limit["unit"])) for kg in ends)
    if low == high == 0:
        return "within"
    if low > 0:
        return "over"
    return "under" if high < 0 else "open"


def _target(
    recent: Sequence[tuple[int, float]],
    forecast: Data | None,
    score: int | None,
    limits: Sequence[Data],
) -> Data | None:
    """The limit that a dog is beyond; nothing is drawn that would starve or fatten it."""
    if not forecast or forecast["days"] == 0:
        return None
    kg = recent[-1][1]
    bound = _passed(kg, limits)
    if bound is None:
        return None
    if score is None:
        return {"kg": None, "percent": None, "words": {"says": "target-score-first"}}
    if score >= IDEAL[0] if bound > kg else score <= IDEAL[1]:
        return {"kg": None, "percent": None, "words": {"says": "target-not-for-score"}}
    percent = abs(kg - bound) / kg * 100 / (forecast["days"] / 7)
    if percent > WARNED:
        return {"kg": None, "percent": percent, "words": {"says": "target-too-fast"}}
    words = {"says": "target", "percent": tidy(percent)}
    return {"kg": bound, "percent": percent, "words": words}


def _passed(kg: float, limits: Sequence[Data]) -> float | None:
    """Return the farthest bound (kg) that a weight is beyond."""
    found = []
    for limit in limits:
        off = beyond(limit, in_unit(kg, "kg", limit["unit"]))
        if off:
            found.append(in_unit(limit["high" if off > 0 else "low"], limit["unit"], "kg"))
    return max(found, key=lambda bound: abs(kg - bound), default=None)
