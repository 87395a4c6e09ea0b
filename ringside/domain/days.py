"""Days of the calendar: counted in months as rules count them, said as a person says them, and
those of shows and entries.

The phone has the latter in static/js/core/days.js; tests/vectors/rules/days.json holds the two
together. There a day is a text, YYYY-MM-DD, and "" is none.
"""

from __future__ import annotations

import re
from calendar import isleap
from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any, NamedTuple

Data = dict[str, Any]

DAY = timedelta(days=1)
# No show runs longer (days; from memory). A last day that lies behind that is a slip of the pen.
LONGEST_SHOW = 31
# How a time of day begins, in static/js/core/day.js too.
TIME = re.compile(r"([0-9]{1,2})[:.h]([0-9]{2})(?![0-9])\s*([ap])?", re.IGNORECASE)
NO_TIME = 24 * 60
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def month_later(day: date, months: int) -> tuple[date, date]:
    """Return the day `months` calendar months on, by both readings.

    They differ where that month has no such day (from the 31st to a shorter month, from
    29 February to a common year): its last day, and the first of the next.
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    last = 29 if month == 1 and isleap(year) else _LENGTHS[month]
    if day.day <= last:
        exact = date(year, month + 1, day.day)
        return exact, exact
    early = date(year, month + 1, last)
    return early, early + DAY


def say_day(day: date) -> str:
    """Return a day as a person says it: "4 March 2027"."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def hour_and_minute(time: str | None) -> tuple[int, int] | None:
    """Return what a text such as "9:45" or "2:30 pm" begins with, of 24 hours, whether a clock has
    it or not; None for no time."""
    found = TIME.match(time or "")
    if not found:
        return None
    hour, minute, half = int(found[1]), int(found[2]), (found[3] or "").lower()
    return hour % 12 + (12 if half == "p" else 0) if half else hour, minute


def minutes_of(time: str | None) -> int:
    """Return the minutes after midnight of a time such as "9:45" or "2:30 pm"; what is no time of
    day comes last, with NO_TIME."""
    found = hour_and_minute(time)
    return found[0] * 60 + found[1] if found else NO_TIME


# --- shows and entries


class Entered(NamedTuple):
    """An entry by its id with its values and those of its show."""

    id: str
    entry: Data
    show: Data


def end_of(first: date, until: date | None) -> date:
    """Return the last day of a show from `first` to `until`, of LONGEST_SHOW days at most."""
    return first + min(max(until or first, first) - first, (LONGEST_SHOW - 1) * DAY)


def last_day(show: Data) -> str:
    """Return the last day of a show by its values, "" where it has no day."""
    first, until = show.get("day") or "", show.get("until") or ""
    if not (first and until):
        return first or until
    return end_of(date.fromisoformat(first), date.fromisoformat(until)).isoformat()


def is_on(show: Data, day: str) -> bool:
    """Whether a show is on at `day`; one without a first day never is."""
    first = show.get("day") or ""
    return bool(first) and first <= day <= last_day(show)


def day_of(entry: Data, show: Data, today: str) -> str:
    """Return the day on which an entry goes in: its own, or that of its show. A show that has
    begun and is not over is one of today. "" for none."""
    own = entry.get("day") or ""
    return own or (today if is_on(show, today) else show.get("day") or "")


def next_entry(entered: Iterable[Entered], today: str) -> tuple[str, Entered] | None:
    """Return what of `entered` goes in first from `today` on, with its day; None for nothing.

    Of one day by time, what has no time last, and then by id.
    """
    ahead = [(day_of(one.entry, one.show, today), one) for one in entered]
    return min((turn for turn in ahead if turn[0] >= today), key=_order, default=None)


def _order(turn: tuple[str, Entered]) -> tuple[str, int, str]:
    day, one = turn
    return day, minutes_of(one.entry.get("time")), one.id
