"""The shows, entries and results of one year, without reading those of all the others."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from ringside.book.ids import id_of
from ringside.book.projection import shown
from ringside.book.store import Book
from ringside.domain.days import DAY, LONGEST_SHOW, last_day

Rows = Mapping[str, dict[str, Any]]


@dataclass(frozen=True)
class Kept:
    """The records that a season is made of, by their ids; removed ones are not among them."""

    dogs: Rows
    shows: Rows
    entries: Rows
    results: Rows


def all_years(book: Book) -> Kept:
    """Return what is kept of every year."""
    return Kept(*(book.records(kind) for kind in ("dog", "show", "entry", "result")))


def of_year(book: Book, year: int) -> Kept:
    """Return what belongs to the shows on in `year`, and to those that have no day yet."""
    shows = {key: show for key, show in _begun(book, year).items() if is_of(show, year)}
    entries = book.beside("entry", list(shows))
    results = book.some("result", [id_of(f"result {key}") for key in entries])
    results = {key: one for key, one in results.items() if not one.get("deleted")}
    return Kept(book.records("dog"), shows, entries, results)


def ahead(book: Book, today: date) -> tuple[Rows, Rows]:
    """Return the shows that may not be over, among them those without a day, and their entries."""
    first = (today - LONGEST_SHOW * DAY).isoformat()
    shows = _shows(book, "(moment >= ? OR moment < '0')", first)
    return shows, book.beside("entry", list(shows))


def between(book: Book, first: date, last: date) -> Rows:
    """Return the shows that begin from `first` to `last`, the removed ones among them."""
    return _read(book, f"{OF_ALL} AND moment >= ? AND moment < ?", first.isoformat(), f"{last}~")


def is_of(show: dict[str, Any], year: int) -> bool:
    """Whether a show is on in `year`; one without a day may be."""
    first = show.get("day") or ""
    return not first or int(first[:4]) <= year <= int(last_day(show)[:4])


def years(book: Book) -> set[int]:
    """Return the years in which shows begin, and those that one of December ends in."""
    sql = f"SELECT DISTINCT substr(moment, 1, 4) {SHOWS} AND moment >= '0'"
    late = _shows(book, "substr(moment, 6, 2) = ?", DECEMBER).values()
    found = [row[0] for row in book.rows(sql)] + [last_day(show) for show in late]
    return {int(day[:4]) for day in found}


# A show's `moment` begins with its day, or with a blank where it has none.
OF_ALL = "FROM record WHERE kind = 'show' AND about = ''"
SHOWS = f"{OF_ALL} AND NOT deleted"
# A show that ends in the year after it began has begun in this month: LONGEST_SHOW is no more.
DECEMBER = "12"


def _begun(book: Book, year: int) -> Rows:
    which = "(moment >= ? AND moment < ? OR moment < '0')"
    return _shows(book, which, f"{year - 1:04}-{DECEMBER}", f"{year:04}~")


def _shows(book: Book, which: str, *values: str) -> Rows:
    return _read(book, f"{SHOWS} AND {which}", *values)


def _read(book: Book, which: str, *values: str) -> Rows:
    rows = book.rows(f"SELECT id, cells {which}", *values)
    return {key: shown(json.loads(cells)) for key, cells in rows}
