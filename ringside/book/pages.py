"""Giving out the book, page by page, from a place that a cursor names."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any

from ringside.book import changes as rules
from ringside.book.databases import Database
from ringside.book.kinds import Kind
from ringside.book.standing import STANDING, Standing, StandingRecord

MOST = 500  # changes a page
SIZE = 400_000  # characters a page, as near as a page can be cut
AROUND = 330  # characters of a change besides its value

Row = tuple[Any, ...]
FIELDS = ", ".join(rules.KEYS)
LOOK = """
    SELECT seq, device, stamp, LENGTH(value) FROM change
    WHERE seq > ? AND seq <= ? AND id NOT IN ({listed}) {seen} ORDER BY seq LIMIT ?
"""
BEHIND = f"""
    SELECT seq, received, {FIELDS} FROM change
    WHERE seq > ? AND seq <= ? AND id NOT IN ({{listed}}) {{seen}} ORDER BY seq
"""
NEWEST = "SELECT seq, received, id FROM change WHERE seq > 0 {seen} ORDER BY seq DESC LIMIT 1"
PLACE = "SELECT seq FROM change WHERE id = ? AND received = ?"
SEEN = "AND kind || '.' || field IN ({listed})"
# All but the value is of a form that needs no escaping (ringside/book/changes.py).
WRITTEN = (
    '{{"id":"{2}","kind":"{3}","record":"{4}","field":"{5}","value":{6},'
    '"stamp":"{7}","base":"{8}","device":"{9}"}}'
)


@dataclass(frozen=True)
class Page:
    """Records as they stand, or changes in the order of their arrival, and the cursor behind them.

    `anew` tells that the cursor asked from is none of this book's, so the page starts at the
    beginning.
    """

    cursor: str
    more: bool
    anew: bool
    rows: tuple[Row, ...] = ()
    records: tuple[StandingRecord, ...] = ()

    @property
    def changes(self) -> list[dict[str, Any]]:
        """The changes as the devices sent them."""
        found = [dict(zip(rules.KEYS, row[2:], strict=True)) for row in self.rows]
        return [{**change, "value": json.loads(change["value"])} for change in found]

    def as_json(self) -> str:
        """Return the members `changes` and `records` of a JSON object."""
        changes = ",".join([WRITTEN.format(*row) for row in self.rows])
        records = ",".join([record.as_json() for record in self.records])
        return f'"changes":[{changes}],"records":[{records}]'


@dataclass(frozen=True)
class View:
    """What a reader sees of the book: all of it, or those fields alone that are named.

    `fields` are written "kind.field". `mark` names the set: where it differs from the one a
    cursor was given with, the reader begins anew, since what it now may see lies behind.
    """

    fields: tuple[str, ...] | None = None
    mark: str = ""


@dataclass(frozen=True)
class Asked:
    """What a reader asks for: what is behind `cursor` ("" for all), without the changes `known`.

    Those are what the phone sent just now, and not all that it ever sent: a phone that was put back
    to an older copy of itself has to be told its own. `most` changes or `size` characters make a
    page. With `records`, who begins gets the records as they stand, then the log from there.
    """

    cursor: str = ""
    known: Collection[str] = ()
    most: int = MOST
    size: int = SIZE
    records: bool = False


class Pages:
    """One book, as one reader sees it.

    A cursor names the last change given out by its id and the moment it was received, so that no
    other book and no restored copy knows it: a change that a copy had lost may come back to its old
    number behind others than before. It tells nothing of what the reader may not see.
    """

    def __init__(self, database: Database, kinds: Mapping[str, Kind], view: View) -> None:
        """Read from `database`, whose records are of these `kinds`, what `view` shows."""
        self.database = database
        self.kinds = kinds
        self.view = view

    def page(self, asked: Asked) -> Page:
        """Return the next page. What was written together is on one page, whatever its size.

        The end is read first: what commits meanwhile has a greater number and comes next time.
        """
        standing, _, after = asked.cursor.partition(" ")
        if standing.startswith(STANDING) and after and self._position(after):
            return self._standing(standing, after, asked.size)
        start = self._position(asked.cursor)
        end, place = self._end()
        if asked.records and not start and end:
            return replace(self._standing(STANDING, place, asked.size), anew=start is None)
        return self._behind(start, end, place, asked)

    def _behind(self, start: int | None, end: int, place: str, asked: Asked) -> Page:
        known = json.dumps(list(asked.known))
        upto, more = self._cut(start or 0, end, known, asked)
        rows = self._rows(BEHIND, start or 0, upto, known) if upto else []
        if more:
            # The end goes with it: a copy older than this answer lacks what was sent for it.
            place = f"{self._named(rows[-1][1], rows[-1][2])} {place}"
        return Page(place, more, start is None, rows=tuple(rows))

    def _cut(self, start: int, end: int, known: str, asked: Asked) -> tuple[int, bool]:
        """Return the number of the last change of a page, 0 for none, and whether more is left."""
        most = asked.most
        while True:
            looks = self._rows(LOOK, start, end, known, last=(most + 1,))
            room = asked.size
            for place, (_, device, stamp, length) in enumerate(looks):
                is_apart = place > 0 and (device, stamp[:12]) != _unit(looks[place - 1])
                if is_apart and (room < length + AROUND or place >= asked.most):
                    return int(looks[place - 1][0]), True
                room -= length + AROUND
            if len(looks) <= most:
                return (end if looks else 0), False
            most *= 2

    def _standing(self, standing: str, after: str, size: int) -> Page:
        found = Standing(self.database, self.kinds, self.view.fields)
        end = self._position(after) or 0
        records, rows, left = found.page(standing, end, size)
        if left:
            return Page(f"{left} {after}", True, False, tuple(rows), tuple(records))
        is_behind = self._end()[0] > end
        return Page(after, is_behind, False, tuple(rows), tuple(records))

    def _end(self) -> tuple[int, str]:
        newest = self._rows(NEWEST)
        return (newest[0][0], self._named(*newest[0][1:])) if newest else (0, "")

    def _rows(self, sql: str, *values: Any, last: Row = ()) -> list[Row]:
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
        found = [self._found(place) for place in cursor.split(" ")] if cursor else []
        known = [number for number in found if number is not None]
        return min(known, default=0) if len(known) == len(found) else None

    def _found(self, place: str) -> int | None:
        key, _, rest = place.partition(".")
        received, _, mark = rest.partition(".")
        if not (received.isascii() and received.isdecimal() and len(received) < 16):
            return None
        rows = self.database.rows(PLACE, (key, int(received)))
        if not rows:
            return None
        return int(rows[0][0]) if mark == self.view.mark else 0


def _unit(look: Row) -> tuple[str, str]:
    """Return what changes share that were written together: the device, and its moment."""
    return look[1], look[2][:12]
