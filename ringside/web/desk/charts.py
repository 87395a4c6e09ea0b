"""Charts of the desk as plain shapes, which templates/desk/charts.html draws as SVG.

Each has its size, its shapes in units of the drawing, and `words`, the chart in words.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor, log10
from typing import Any

from ringside.domain.days import say_day

Data = dict[str, Any]
Points = Sequence[tuple[date, float]]

WIDTH, HEIGHT = 640, 260
LEFT, RIGHT, TOP, BOTTOM = 56, 14, 14, 30
ROOM = 0.06  # of the span, above and below
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
MOST_TICKS = 6
NAMES, ROW = 130, 24  # room for the names of rows, and the height of one


@dataclass(frozen=True)
class Frame:
    """Where days and values stand."""

    x: Callable[[date], float]
    y: Callable[[float], float]
    low: float
    high: float


def _frame(days: Sequence[date], values: Sequence[float]) -> Frame:
    first, least, greatest = min(days), min(values), max(values)
    span = max((max(days) - first).days, 1)
    room = (greatest - least or greatest * 0.1 or 1) * ROOM
    low, high = least - room, greatest + room
    return Frame(
        lambda day: round(LEFT + (WIDTH - LEFT - RIGHT) * (day - first).days / span, 1),
        lambda value: round(TOP + (HEIGHT - TOP - BOTTOM) * (high - value) / (high - low), 1),
        low,
        high,
    )


def ticks(low: float, high: float, most: int = MOST_TICKS) -> list[float]:
    """Return round values from `low` to `high`, few enough to be read."""
    rough = (high - low) / (most - 1) or 1
    size = 10.0 ** floor(log10(rough))
    step = next(one * size for one in STEPS if one * size >= rough * (1 - 1e-9))
    count = range(ceil(low / step - 1e-9), floor(high / step + 1e-9) + 1)
    return [float(f"{number * step:.12g}") for number in count]


def weight_chart(
    points: Points,
    *,
    limits: Sequence[tuple[float, str]] = (),
    ahead: tuple[date, float, float, float] | None = None,
    words: str,
) -> Data:
    """Return the chart of weights by day, one at least.

    `limits` are values with their words; `ahead` is the day of the show, with the low end, the
    middle and the high end of its forecast.
    """
    days = [day for day, _ in points] + ([ahead[0]] if ahead else [])
    values = [value for _, value in points] + [value for value, _ in limits]
    frame = _frame(days, values + (list(ahead[1:]) if ahead else []))
    chart = {
        "width": WIDTH, "height": HEIGHT, "left": LEFT, "right": WIDTH - RIGHT, "words": words,
        "rows": [(frame.y(value), f"{value:g}") for value in ticks(frame.low, frame.high)],
        "columns": _columns(LEFT, min(days), max(days)),
        "line": _path(frame, points),
        "dots": [(frame.x(day), frame.y(value)) for day, value in points],
        "limits": [(frame.y(value), said) for value, said in limits],
    }  # fmt: skip
    if ahead:
        day, low, middle, high = ahead
        last = points[-1]
        chart["fan"] = _path(frame, [last, (day, high), (day, low)]) + "Z"
        chart["ahead"] = _path(frame, [last, (day, middle)])
        chart["cross"] = (frame.x(day), frame.y(middle))
    return chart


def marks_chart(rows: Mapping[str, Sequence[tuple[date, str]]], words: str) -> Data | None:
    """Return the chart of marks by day, a row for each name; None without any mark.

    Each mark is (day, shape): "easy", "needs work" or "not yet". Of marks that would lie on one
    another one is drawn.
    """
    days = [day for marks in rows.values() for day, _ in marks]
    if not days:
        return None
    first, span = min(days), max((max(days) - min(days)).days, 1)
    height = TOP + ROW * len(rows) + BOTTOM
    right = WIDTH - RIGHT - 8

    def x(day: date) -> float:
        return round(NAMES + 8 + (right - NAMES - 8) * (day - first).days / span, 1)

    return {
        "width": WIDTH, "height": height, "left": NAMES, "right": WIDTH - RIGHT, "words": words,
        "rows": [
            {
                "y": TOP + ROW * place + ROW // 2,
                "name": name,
                "marks": list(dict.fromkeys((x(day), shape) for day, shape in marks)),
            }
            for place, (name, marks) in enumerate(rows.items())
        ],
        "columns": _columns(NAMES + 8, first, max(days)),
    }  # fmt: skip


def _columns(left: int, first: date, last: date) -> list[tuple[int, str, str]]:
    found = [(left, _short(first), "start"), (WIDTH - RIGHT, _short(last), "end")]
    return found if first < last else found[:1]


def _path(frame: Frame, points: Points) -> str:
    return "M" + "L".join(f"{frame.x(day)} {frame.y(value)}" for day, value in points)


def _short(day: date) -> str:
    number, month, year = say_day(day).split()
    return f"{number} {month[:3]} {year}"
