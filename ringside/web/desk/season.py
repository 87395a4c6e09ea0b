"""The season at the desk: shows, entries and results of a year as a table and a calendar, and all
years as a CSV file that the import of a season takes.
"""

from __future__ import annotations

import csv
import io
from calendar import Calendar, month_name
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from flask import Blueprint, Response, render_template, request

from ringside.book import season
from ringside.book.keeping import cell
from ringside.book.season import Kept
from ringside.book.store import Book
from ringside.book.tables.season_columns import COLUMNS
from ringside.domain.days import minutes_of, say_day
from ringside.knowledge import Knowledge
from ringside.web.desk.overview import as_day, class_name
from ringside.web.library import Library

Data = dict[str, Any]
WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
BYTE_ORDER_MARK = "\ufeff"


@dataclass(frozen=True)
class Row:
    """One entry with its show and its result, or a show that no dog is entered in. `entry`, `dog`
    and `result` are {} where there is none; ids are "" then."""

    day: str
    show_id: str
    show: Data
    entry_id: str
    entry: Data
    dog: Data
    result: Data

    @property
    def sorting(self) -> tuple[Any, ...]:
        """By day, then by show and time."""
        name, dog = self.show.get("name") or "", self.dog.get("name") or ""
        minutes = minutes_of((self.entry.get("time") or "").strip())
        return self.day, name.casefold(), minutes, dog.casefold()


def rows_of(kept: Kept, dog: str = "") -> list[Row]:
    """Return the rows of all years by day, those of one dog where its id is given."""
    results = {one["entry"]: one for one in kept.results.values() if one.get("entry")}
    by_show: dict[str, list[str]] = defaultdict(list)
    for key, entry in kept.entries.items():
        if entry.get("dog") in kept.dogs and dog in ("", entry["dog"]):
            by_show[entry.get("show") or ""].append(key)
    found = []
    for show_id, show in kept.shows.items():
        for key in by_show.get(show_id, () if dog else ("",)):
            entry = kept.entries.get(key, {})
            result = results.get(key, {})
            day = entry.get("day") or show.get("day") or result.get("day") or ""
            whose = kept.dogs.get(entry.get("dog") or "", {})
            found.append(Row(day, show_id, show, key, entry, whose, result))
    return sorted(found, key=lambda row: row.sorting)


def make_season(book: Book, library: Library) -> Blueprint:
    """Return the routes of the season."""
    routes = Blueprint("year", __name__, url_prefix="/season")

    @routes.get("")
    def page() -> str:
        today, knowledge = date.today(), library.knowledge
        at, dog = request.args.get("row", ""), request.args.get("dog", "")
        with book.session():
            years = {f"{one:04}": one for one in {*season.years(book), today.year}}
            asked = _year_at(book, at) if at else request.args.get("year", "")
            year = years.get(asked, today.year)
            kept = season.of_year(book, year)
        chosen = dog if dog in kept.dogs else ""
        shown = [row for row in rows_of(kept, chosen) if _is_in(row, year)]
        return render_template(
            "desk/season.html",
            root=library.edition().build.root,
            dogs=sorted(
                ((key, one.get("name") or "No name yet") for key, one in kept.dogs.items()),
                key=lambda one: one[1].casefold(),
            ),
            dog=chosen,
            year=f"{year:04}",
            at=at,
            years=sorted(years),
            week=WEEK,
            rows=[_shown(row, knowledge) for row in shown],
            months=list(months(year, shown, today)),
        )

    @routes.get("/season.csv")
    def give_csv() -> Response:
        with book.session():
            kept = season.all_years(book)
        response = Response(
            (BYTE_ORDER_MARK + as_csv(rows_of(kept))).encode(),
            content_type="text/csv; charset=utf-8",
        )
        response.headers["Content-Disposition"] = 'attachment; filename="season.csv"'
        return response

    return routes


def _year_at(book: Book, key: str) -> str:
    """Return the year of an entry or a show by its id, "" if there is none."""
    entry = book.record("entry", key)
    show = book.record("show", entry.get("show") or key)
    return str(entry.get("day") or show.get("day") or "")[:4]


def _is_in(row: Row, year: int) -> bool:
    """Whether a row of a show on in `year` is shown there: a show over New Year is in two. What
    lies outside the days of its show is shown wherever that is."""
    day = as_day(row.day)
    return day is None or day.year == year or not season.is_of(row.show, day.year)


def as_csv(rows: Iterable[Row]) -> str:
    """Return a table with the columns that the import takes, an entry or a bare show a row.

    No cell is one that a spreadsheet takes for a formula.
    """
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(["Ringside ID", *(column.title for column in COLUMNS)])
    for row in rows:
        of = {"show": row.show, "entry": {**row.entry, "day": row.day}, "result": row.result}
        named = {"dog": row.dog.get("name") or row.dog.get("pedigree")}
        for kind, values in of.items():
            named |= {f"{kind}.{name}": value for name, value in values.items()}
        cells = (cell(named.get(column.field)) for column in COLUMNS)
        writer.writerow([row.entry_id, *cells])
    return text.getvalue()


def _shown(row: Row, knowledge: Knowledge) -> Data:
    day, entry, result = as_day(row.day), row.entry, row.result
    ring, armband = entry.get("ring"), entry.get("armband")
    where = (entry.get("time"), ring and f"ring {ring}", armband and f"armband {armband}")
    klass = result.get("klass") or entry.get("klass")
    return {
        "day": row.day if day else "",
        "said": say_day(day) if day else "No day yet",
        "show_id": row.show_id,
        "show": row.show.get("name") or "A show without a name",
        "entry_id": row.entry_id,
        "dog_id": entry.get("dog") or "",
        "dog": (row.dog.get("name") or "No name yet") if row.entry_id else "",
        "class": class_name(klass, row.show.get("body"), knowledge),
        "judge": result.get("judge") or entry.get("judge") or "",
        "where": ", ".join(filter(None, where)),
        "result": _result(result, knowledge),
    }


def _result(result: Data, knowledge: Knowledge) -> str:
    placings = {one.id: one.name for one in knowledge.results.placing}
    grades = {one.id: one.name for one in knowledge.results.grade}
    placing, grade = result.get("placing") or "", result.get("grade") or ""
    said = [placings.get(placing, placing.capitalize()), grades.get(grade, grade)]
    if result.get("competing"):
        said.append(f"{result['competing']:g} competing")
    return ", ".join(filter(None, said))


def months(year: int, rows: Iterable[Row], today: date) -> Iterator[Data]:
    """Yield the months of a year: {name, weeks}, a week seven days, a day {number, day, shows,
    is_today}, None in another month; `shows` names what is on."""
    on: dict[date, list[str]] = defaultdict(list)
    for row in rows:
        day, name = as_day(row.day), row.show.get("name") or "A show without a name"
        if day and name not in on[day]:
            on[day].append(name)
    for month in range(1, 13):
        weeks = [
            [_cell(date(year, month, number), on, today) if number else None for number in week]
            for week in Calendar().monthdayscalendar(year, month)
        ]
        yield {"name": month_name[month], "weeks": weeks}


def _cell(day: date, on: Mapping[date, list[str]], today: date) -> Data:
    names = ", ".join(on[day]) if day in on else ""
    return {
        "number": day.day,
        "day": day.isoformat(),
        "shows": f"{say_day(day)}: {names}" if names else "",
        "is_today": day == today,
    }
