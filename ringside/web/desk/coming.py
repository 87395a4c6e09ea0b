"""What a dog goes to next."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import Any

from ringside.book import season
from ringside.book.season import Rows
from ringside.book.store import Book
from ringside.domain import days
from ringside.domain.days import Entered

Data = dict[str, Any]
# A day, the values of the entry that goes in then, and those of its show.
Coming = tuple[str, Data, Data]


def next_entries(shows: Rows, entries: Rows, today: date) -> dict[str, Coming]:
    """Return {dog: what it goes to next}, of these shows and the entries in them."""
    entered: dict[str, list[Entered]] = defaultdict(list)
    for key, entry in entries.items():
        if entry.get("show") in shows:
            entered[entry.get("dog") or ""].append(Entered(key, entry, shows[entry["show"]]))
    found = {dog: days.next_entry(own, today.isoformat()) for dog, own in entered.items()}
    return {dog: (one[0], one[1].entry, one[1].show) for dog, one in found.items() if one}


def next_entry(book: Book, dog: str, today: date) -> Coming | None:
    """Return what a dog goes to next, None for nothing."""
    return next_entries(*season.ahead(book, today), today).get(dog)
