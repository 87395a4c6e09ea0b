"""The columns of a season: an entry a row, with its show and its result. A field is named by the
kind of record it is of, "show.place".
"""

from __future__ import annotations

from functools import cached_property

from ringside.book.kinds import KINDS
from ringside.book.kinds.fields import MOST_TEXT_BYTES, Field
from ringside.book.tables.cells import CellError, Reading, body, one_of
from ringside.book.tables.columns import Column, Columns
from ringside.book.tables.days import believed, read_day
from ringside.domain.bounds import show_day_problem, time_problem


def _day(cell: str, reading: Reading) -> str:
    """Return a day on which a show is held, as YYYY-MM-DD."""
    return believed(cell, reading, show_day_problem)


def _last_day(cell: str, reading: Reading) -> str:
    """Return a day as YYYY-MM-DD; it is looked at beside the first day."""
    return read_day(cell, reading.order).isoformat()


def _time(cell: str, _: Reading) -> str:
    """Return a time of day, or words."""
    if problem := time_problem(cell):
        raise CellError(problem)
    return cell


def _count(cell: str, _: Reading) -> int:
    """Return a whole number."""
    if not (cell.isascii() and cell.isdigit()):
        raise CellError(f"“{cell[:20]}” is not a number of dogs; write it like 12.")
    return int(cell)


def _grade(cell: str, reading: Reading) -> str:
    """Return a grade's id, or the grade as it was written."""
    found = reading.meant("grade", cell)
    return next(iter(found)) if len(found) == 1 else cell


_DAY = (
    "2026-03-14 or 14 March 2026. For dates such as 03/04/2026 we ask once whether the day or the "
    "month comes first."
)
_LEVELS = {
    "championship": "", "championship-cc": "championship with ccs|ccs", "open": "", "limited": "",
    "breed-club": "breed club", "specialty": "", "national-specialty": "national specialty",
    "cacib": "international",
}  # fmt: skip

COLUMNS = (
    Column(
        "dog", "Dog", "A dog of the book, by its call name or its registered name. An entry needs "
        "it; a row without it is a show.", "Example Biscuit",
        ("Name", "Call name", "Registered name", "Dog's name"),
    ),
    Column("show.name", "Show", "What the show is called.", "Example Show", ("Event",)),
    Column(
        "entry.day", "Day", f"The day the dog is shown. {_DAY}", "2026-03-14",
        ("Date", "Show date", "Day shown"), _day, is_day=True,
    ),
    Column(
        "show.day", "First day", "Only at a show of several days.", "",
        ("From", "Start", "Begins"), _day, is_day=True,
    ),
    Column(
        "show.until", "Last day", "Only at a show of several days.", "",
        ("Until", "To", "End", "Ends"), _last_day, is_day=True,
    ),
    Column(
        "show.body", "Rules of", "FCI, AKC, KC, CKC or DA. A new show needs it.", "KC",
        ("Body", "Rules"),
        body,
    ),
    Column(
        "show.level", "Kind of show", f"One of: {', '.join(_LEVELS)}.", "open",
        ("Level",), one_of(**_LEVELS),
    ),
    Column("show.place", "Place", "Where the show is.", "", ("Venue", "Town")),
    Column(
        "entry.klass", "Class", "As the body calls it. A class we do not know is saved as you "
        "wrote it.", "Open", ("Class entered",),
    ),
    Column("entry.judge", "Judge", "The judge's name.", "", ("Judged by",)),
    Column("entry.ring", "Ring", "The number or name of the ring.", "", ("Ring number",)),
    Column("entry.time", "Time", "When the class begins.", "", ("Ring time",), _time),
    Column(
        "entry.armband", "Armband", "The armband or catalogue number.", "",
        ("Catalogue number", "Number", "Exhibit number"),
    ),
    Column(
        "result.placing", "Placing", "1 to 4, reserve, VHC, unplaced or absent.", "2",
        ("Place taken", "Placement", "Position"),
        one_of(**{
            "1": "1st|first", "2": "2nd|second", "3": "3rd|third", "4": "4th|fourth",
            "reserve": "res", "vhc": "very highly commended", "unplaced": "none", "absent": "abs",
        }),
    ),
    Column(
        "result.grade", "Grade", "As the body calls it, such as Excellent.", "",
        ("Quality", "Rating"), _grade,
    ),
    Column(
        "result.competing", "Dogs competing", "How many were in the class.", "",
        ("Competing", "Number in class"), _count,
    ),
    Column(
        "result.critique", "Critique", "What the judge wrote.", "", ("Report",),
        longest=MOST_TEXT_BYTES,
    ),
    Column(
        "result.well", "What went well", "Your own words.", "", ("Went well",),
        longest=MOST_TEXT_BYTES,
    ),
)  # fmt: skip


class SeasonColumns(Columns):
    """Columns of several kinds; a dog is written by its name."""

    @cached_property
    def needed(self) -> list[Column]:
        """Those that a new entry needs."""
        return [self.by_field[name] for name in ("dog", "show.name", "entry.day")]

    def declared(self, name: str) -> Field:
        """Return what the book takes for a field."""
        if name == "dog":
            return KINDS["dog"].fields["pedigree"]
        kind, _, field = name.partition(".")
        return KINDS[kind].fields[field]


SEASON_COLUMNS = SeasonColumns("entry", COLUMNS)
