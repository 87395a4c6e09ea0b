"""What a dog goes to next."""

from __future__ import annotations

from datetime import date
from typing import Any

from ringside.book.store import Book

Data = dict[str, Any]


def next_entry(book: Book, dog: str, today: date) -> tuple[str, Data, Data] | None:
    """Return (day, entry, show) of the dog's soonest entry that is not over, None for none.

    As static/js/parts/nextshow.js finds it: a show that has begun is one of today.
    """
    found = []
    for entry in book.about("entry", dog).values():
        show = book.record("show", entry["show"]) if entry.get("show") else {}
        day = entry.get("day") or _day_at(show, today.isoformat())
        if show and not show.get("deleted") and day and day >= today.isoformat():
            found.append((day, entry, show))
    return min(found, key=lambda one: str(one[0]), default=None)


def _day_at(show: Data, today: str) -> str:
    first, last = show.get("day") or "", show.get("until") or ""
    return today if first < today <= last else first
