"""Days of the calendar: counted in months as rules count them, and said as a person says them."""

from __future__ import annotations

from calendar import isleap
from datetime import date, timedelta

DAY = timedelta(days=1)
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
