"""Giving out the log, page by page, from a place that a cursor names."""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from ringside.book import changes as rules
from ringside.book.databases import Database

MOST = 500  # changes a page

FIELDS = ", ".join(rules.KEYS)
BEHIND = f"""
    SELECT seq, received, {FIELDS} FROM change
    WHERE seq > ? AND seq <= ? AND id NOT IN ({{listed}}) {{seen}} ORDER BY seq LIMIT ?
"""
NEWEST = "SELECT seq, received, id FROM change WHERE seq > 0 {seen} ORDER BY seq DESC LIMIT 1"
PLACE = "SELECT seq FROM change WHERE id = ? AND received = ?"
SEEN = "AND kind || '.' || field IN ({listed})"


@dataclass(frozen=True)
class Page:
    """Changes in the order of their arrival, and the cursor behind them.

    `anew` tells that the cursor asked from is none of this book's, so the page starts at the
    beginning.
    """

    changes: list[dict[str, Any]]
    cursor: str
    more: bool
    anew: bool


@dataclass(frozen=True)
class View:
    """What a reader sees of the log: all of it, or those fields alone that are named.

    `fields` are written "kind.field". `mark` names the set: where it differs from the one a
    cursor was given with, the reader begins anew, since what it now may see lies behind.
    """

    fields: tuple[str, ...] | None = None
    mark: str = ""


class Pages:
    """The log of one book, as one reader sees it.

    A cursor names the last change given out by its id and the moment it was received, so that no
    other book and no restored copy knows it: a change that a copy had lost may come back to its old
    number behind others than before. It tells nothing of what the reader may not see.
    """

    def __init__(self, database: Database, view: View) -> None:
        """Read from `database` what `view` shows."""
        self.database = database
        self.view = view

    def page(self, cursor: str, known: Collection[str], most: int) -> Page:
        """Return what is behind `cursor` ("" for all), without the changes whose ids are `known`.

        Those are what the phone sent just now, and not all that it ever sent: a phone that was put
        back to an older copy of itself has to be told its own.

        The end is read first: what commits meanwhile has a greater number and comes next time.
        """
        start = self._position(cursor)
        newest = self._rows(NEWEST)
        end, place = (newest[0][0], self._named(*newest[0][1:])) if newest else (0, "")
        rows = self._rows(BEHIND, start or 0, end, json.dumps(list(known)), last=(most + 1,))
        more = len(rows) > most
        if more:
            rows.pop()
            # The end goes with it: a copy older than this answer lacks what was sent for it.
            place = f"{self._named(rows[-1][1], rows[-1][2])} {place}"
        sent = [dict(zip(rules.KEYS, row[2:], strict=True)) for row in rows]
        for change in sent:
            change["value"] = json.loads(change["value"])
        return Page(sent, place, more, anew=start is None)

    def _rows(self, sql: str, *values: Any, last: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
        fields = self.view.fields
        sql = sql.replace("{seen}", "" if fields is None else SEEN)
        own = () if fields is None else (json.dumps(fields),)
        return self.database.rows(
            sql.replace("{listed}", self.database.listed), (*values, *own, *last)
        )

    def _named(self, received: int, key: str) -> str:
        mark = self.view.mark
        return f"{key}.{received}{f'.{mark}' if mark else ''}"

    def _position(self, cursor: str) -> int | None:
        """Return the number behind which `cursor` asks, None if it is none of this book's."""
        found = [self._found(place) for place in cursor.split(" ")] if cursor else [0]
        if None in found:
            return None
        return min(number for number in found if number is not None)

    def _found(self, place: str) -> int | None:
        key, _, rest = place.partition(".")
        received, _, mark = rest.partition(".")
        if not (received.isascii() and received.isdecimal() and len(received) < 16):
            return None
        rows = self.database.rows(PLACE, (key, int(received)))
        if not rows:
            return None
        return int(rows[0][0]) if mark == self.view.mark else 0
