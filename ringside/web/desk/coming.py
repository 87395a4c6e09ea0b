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
    entries = book.about("entry", dog).values()
    shows = book.some("show", sorted({one["show"] for one in entries if one.get("show")}))
    found = []
    for entry in entries:
        show = shows.get(entry.get("show") or "", {})
        day = entry.get("day") or _day_at(show, today.isoformat())
        if show and not show.get("deleted") and day and day >= today.isoformat():
            found.append((day, entry, show))
    return min(found, key=lambda one: str(one[0]), default=None)


def _day_at(show: Data, today: str) -> str:
    first, last = show.get("day") or "", show.get("until") or ""
    return today if first < today <= last else first
