"""Two asks about one measure that no dog, or not every right dog, can fulfil together."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite

from ringside.knowledge.review.clauses import same_variety
from ringside.knowledge.schema import Ask, Number

# Units that measure the same, and how many of the first make one of the second.
_IN_BASE: Mapping[str, tuple[str, float]] = {
    "kg": ("kg", 1),
    "g": ("kg", 0.001),
    "lb": ("kg", 0.453_592_37),
    "oz": ("kg", 0.028_349_523_125),
    "cm": ("cm", 1),
    "mm": ("cm", 0.1),
    "in": ("cm", 2.54),
}
# A standard rounds when it gives the same measure in two units.
_ROUNDING = 0.02
_WANTED = ("required", "preferred")
_WORDS = {"disqualifying": "disqualifying", "serious": "a serious fault"}

Span = tuple[float, float]


def concerned(ask: Ask) -> bool:
    """Whether the ask is about a measure."""
    return ask.number is not None


def clash(one: Ask, other: Ask) -> str:
    """Return what is wrong between two asks of one body, "" if they may stand together."""
    if not (one.number and other.number and _same_measure(one.number, other.number)):
        return ""
    unit, first = _span(one.number)
    other_unit, second = _span(other.number)
    if unit != other_unit:
        return ""
    slack = _ROUNDING if one.number.unit != other.number.unit else 0
    wants = one.weight in _WANTED, other.weight in _WANTED
    if all(wants):
        if one.variety == other.variety and _apart(first, second, slack):
            return f"two ranges for {one.number.what} that do not meet"
    elif any(wants) and same_variety(one, other):
        asked, limit, bar = (first, second, other) if wants[0] else (second, first, one)
        # What is merely a fault may be within a tolerance.
        is_beyond = _apart(asked, limit, slack) or _reaches_beyond(asked, limit, slack)
        if bar.weight != "fault" and is_beyond:
            return f"a {one.number.what} that is wanted is {_WORDS[bar.weight]}"
    return ""


def _same_measure(one: Number, other: Number) -> bool:
    same = one.what.casefold() == other.what.casefold()
    return same and (one.sex == other.sex or "both" in (one.sex, other.sex))


def _apart(one: Span, other: Span, slack: float) -> bool:
    return one[1] * (1 + slack) < other[0] or other[1] * (1 + slack) < one[0]


def _reaches_beyond(asked: Span, limit: Span, slack: float) -> bool:
    """Whether a bound that is asked lies outside of a limit. A bound that is left open does not."""
    low, high = asked
    return (isfinite(low) and low * (1 + slack) < limit[0]) or (
        isfinite(high) and high > limit[1] * (1 + slack)
    )


def _span(number: Number) -> tuple[str, Span]:
    unit, factor = _IN_BASE.get(number.unit, (number.unit, 1))
    low = float("-inf") if number.low is None else number.low * factor
    high = float("inf") if number.high is None else number.high * factor
    return unit, (low, high)
