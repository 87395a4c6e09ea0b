"""Days as people and spreadsheets write them."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

from ringside.book.tables.cells import CellError, Order, OrderError, Reading

# A run of blanks is gone through once: begun at its start alone (?<!), and never given back (++).
_MIDNIGHT = re.compile(r"(?<![T ])[T ]++0{1,2}:00(?::00(?:\.0+)?)?Z?$")
_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.]?)([0-9]{1,2})\2([0-9]{1,2})")
_YEAR_LAST = re.compile(r"([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{4})")
_DAY_MONTH = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?[-/. ]*([a-z]{3,9})[-/., ]*([0-9]{4})")
_MONTH_DAY = re.compile(r"([a-z]{3,9})\.? *([0-9]{1,2})(?:st|nd|rd|th)?,? +([0-9]{4})")
_SHORT_YEAR = re.compile(r"[0-9]{1,2}[-/. ]+(?:[0-9]{1,2}|[a-z]{3,9})[-/., ]+[0-9]{2}")
_SERIAL = re.compile(r"[0-9]{5}(?:[.,][0-9]+)?")
_MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
_WRITE = "Write it as year, month and day, such as 2024-03-14."


def read_day(cell: str, order: Order) -> date:
    """Return the day. Raises OrderError if it is open which part is the month."""
    year, month, day = _parts(cell, order)
    try:
        return date(year, month, day)
    except ValueError:
        raise CellError(f"There is no day {cell}. {_WRITE}") from None


def believed(cell: str, reading: Reading, problem: Callable[[date, date], str]) -> str:
    """Return the day as YYYY-MM-DD. Raises CellError for one in which `problem` finds something.

    It is asked with the day and the present day, and says "" for nothing.
    """
    day = read_day(cell, reading.order)
    if found := problem(day, reading.today):
        raise CellError(f"It is read as {in_words(day.isoformat())}. {found}")
    return day.isoformat()


def _parts(cell: str, order: Order) -> tuple[int, int, int]:
    """Return year, month and day as they were written."""
    parts = re.split("([-/.])", _MIDNIGHT.sub("", cell).lower())
    bare = "".join([part.strip() for part in parts])
    if (found := _YEAR_FIRST.fullmatch(bare)) and (found[2] or len(bare) == 8):
        return int(found[1]), int(found[3]), int(found[4])
    if found := _YEAR_LAST.fullmatch(bare):
        return int(found[4]), *_in_order(cell, int(found[1]), int(found[3]), order)
    if found := _DAY_MONTH.fullmatch(bare):
        return int(found[3]), _month(found[2], cell), int(found[1])
    if found := _MONTH_DAY.fullmatch(bare):
        return int(found[3]), _month(found[1], cell), int(found[2])
    if _SHORT_YEAR.fullmatch(bare):
        raise CellError(f"{cell} does not say which century. {_WRITE}")
    if _SERIAL.fullmatch(bare):
        raise CellError(
            f"{cell} is a spreadsheet's day number, not a date. Format the column as a date, "
            "such as 2024-03-14, and save again."
        )
    raise CellError(f"“{cell}” cannot be read as a date. {_WRITE}")


def _in_order(cell: str, one: int, other: int, order: Order) -> tuple[int, int]:
    """Return month and day of a date written with numbers, the year last."""
    fits: list[Order] = []
    if other <= 12:
        fits.append("day")
    if one <= 12:
        fits.append("month")
    if order and fits and order not in fits:
        raise CellError(
            f"{cell} does not have its {order} first, as you said of this file. {_WRITE}"
        )
    if not order and len(fits) == 2 and one != other:
        raise OrderError(f"{cell} can be read two ways: choose above which comes first.")
    is_month_first = (order or next(iter(fits), "day")) == "month"
    return (one, other) if is_month_first else (other, one)


def _month(word: str, cell: str) -> int:
    for number, name in enumerate(_MONTHS, start=1):
        if name.startswith(word):
            return number
    raise CellError(f"There is no month “{word}” in {cell}. {_WRITE}")


def order_in(cell: str) -> Order:
    """Return what comes first in a day that was read and has its year last; "" for any other."""
    found = _YEAR_LAST.fullmatch(cell)
    if not found or found[1] == found[3]:
        return ""
    return "day" if int(found[1]) > 12 else "month"


def in_words(day: str) -> str:
    """Return a day (YYYY-MM-DD) so that nobody mistakes its month: 3 April 2024."""
    year, month, number = map(int, day.split("-"))
    return f"{number} {_MONTHS[month - 1].capitalize()} {year}"
