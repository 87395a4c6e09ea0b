"""Giving out the records as they stand, for a phone that begins: less than all that led to them.

They come in the order of their kinds and ids: what the others are about comes first, so that the
phone can be used while the years behind are still on their way. What changes meanwhile is in the
log behind the place that was its end when the first page was made, and folding that once more does
no harm. What this version does not know is in no record: those changes come after the records, as
they are.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from ringside.book import changes as rules
from ringside.book.databases import Database
from ringside.book.kinds import Kind, digest, knows

# A cursor within begins with it: then what the version declares, since another one holds other
# changes in no record, and the kind and id of the last record given out.
STANDING = "standing:"
ORDER = "owners-first."
UNKNOWN = "?"  # stands for the kind, once all kinds are given out
AT_ONCE = 500
RECORDS = "SELECT id, cells FROM record WHERE kind = ? AND id > ? ORDER BY id LIMIT ?"
LOG = f"""
    SELECT seq, received, {", ".join(rules.KEYS)} FROM change
    WHERE seq > ? AND seq <= ? ORDER BY seq LIMIT ?
"""
ANY_STRANGE = "SELECT value FROM meta WHERE key = 'strange'"

Row = tuple[Any, ...]


@dataclass(frozen=True)
class StandingRecord:
    """A record with its merge cells, as JSON text."""

    kind: str
    id: str
    cells: str

    def as_json(self) -> str:
        """Return [kind, id, cells]."""
        return f'["{self.kind}","{self.id}",{self.cells}]'


class Standing:
    """The records of one book that one reader may see."""

    def __init__(
        self, database: Database, kinds: Mapping[str, Kind], fields: tuple[str, ...] | None
    ) -> None:
        """Read from `database` records of `kinds`; of these `fields` ("kind.field"), if not all."""
        self.database = database
        self.kinds = kinds
        self.fields = None if fields is None else frozenset(fields)
        # The order is part of what a cursor says: in another one, other records lie behind it.
        self.start = f"{STANDING}{ORDER}{digest(kinds)[:8]}:"

    def page(self, cursor: str, end: int, size: int) -> tuple[list[StandingRecord], list[Row], str]:
        """Return what is behind `cursor`, some `size` characters: records, changes, the cursor.

        The cursor is "" where nothing is left. The changes, up to the number `end` of the log, are
        those that no record holds.
        """
        place = cursor.removeprefix(self.start) if cursor.startswith(self.start) else ""
        kind, _, last = place.partition(":")
        if kind == UNKNOWN:
            return [], *self._strange(int(last) if last.isdecimal() else 0, end)
        found: list[StandingRecord] = []
        for record in self._from(kind, last):
            found.append(record)
            size -= len(record.cells) + len(record.id) + 20
            if size <= 0:
                return found, [], self._cursor(record.kind, record.id)
        return found, *self._strange(0, end)

    def _from(self, kind: str, last: str) -> Iterator[StandingRecord]:
        seen = filter(self._is_seen, self.kinds)
        names = sorted(seen, key=lambda name: self.kinds[name].about is not None)
        for name in names[names.index(kind) if kind in names else 0 :]:
            yield from self._of_kind(name, last if name == kind else "")

    def _is_seen(self, name: str) -> bool:
        return self.fields is None or f"{name}.deleted" in self.fields

    def _of_kind(self, name: str, last: str) -> Iterator[StandingRecord]:
        while True:
            rows = self.database.rows(RECORDS, (name, last, AT_ONCE))
            for record, cells in rows:
                yield StandingRecord(name, record, self._seen(name, cells))
            if len(rows) < AT_ONCE:
                return
            last = rows[-1][0]

    def _seen(self, kind: str, cells: str) -> str:
        if self.fields is None:
            return cells
        own = json.loads(cells).items()
        return rules.as_text({name: cell for name, cell in own if f"{kind}.{name}" in self.fields})

    def _strange(self, after: int, end: int) -> tuple[list[Row], str]:
        """Return changes that this version folds into no record, and the cursor behind them."""
        if not self.database.rows(ANY_STRANGE, ()):
            return [], ""
        found: list[Row] = []
        while len(found) < AT_ONCE:
            rows = self.database.rows(LOG, (after, end, AT_ONCE))
            found += [row for row in rows if self._is_strange(row)]
            if len(rows) < AT_ONCE:
                return found, ""
            after = rows[-1][0]
        return found, self._cursor(UNKNOWN, after)

    def _is_strange(self, row: Row) -> bool:
        change = dict(zip(rules.KEYS, row[2:], strict=True))
        kind, field = change["kind"], change["field"]
        if self.fields is not None and f"{kind}.{field}" not in self.fields:
            return False
        return not knows(self.kinds, kind, field, json.loads(change["value"]))

    def _cursor(self, kind: str, last: str | int) -> str:
        return f"{self.start}{kind}:{last}"
