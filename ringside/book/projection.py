"""What is so now: one row a record, made from the log by the merge's pure fold.

Only what this version knows, and what its declaration allows, is folded. The rest stays in the
log, and is folded when a version that knows it makes the rows anew.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from typing import Any, NewType

import orjson

from ringside.book import merge
from ringside.book.databases import Database
from ringside.book.kinds import Kind, knows
from ringside.book.parts import parted

# One field of one record set anew: kind, record, field, stamp, base, value.
Edit = tuple[str, str, str, str, str, Any]
# One that was judged: this version declares what it sets, and allows the value.
Known = NewType("Known", Edit)
Cells = dict[str, merge.Cell]
Told = Callable[[int, int], None]


def unheard(done: int, total: int) -> None:
    """Tell nobody."""


AT_ONCE = 5_000  # changes
COLUMNS = ("kind", "id", "about", "beside", "moment", "deleted", "apart", "cells")
KEPT = ", ".join(f"{name} = excluded.{name}" for name in COLUMNS[2:])
SAVE = f"""
    INSERT INTO record ({", ".join(COLUMNS)}) VALUES ({", ".join("?" * len(COLUMNS))})
    ON CONFLICT (kind, id) DO UPDATE SET {KEPT}
"""
LOG = "SELECT kind, record, field, stamp, base, value FROM change ORDER BY seq"


class Projection:
    """The rows of all records of one book."""

    def __init__(self, database: Database, kinds: Mapping[str, Kind]) -> None:
        """Keep the rows in `database`, for records of these `kinds`."""
        self.database = database
        self.kinds = kinds

    def known(self, edits: Iterable[Edit]) -> list[Known]:
        """Return those of `edits` that set what this version knows, to what it allows."""
        return [Known(edit) for edit in edits if knows(self.kinds, edit[0], edit[2], edit[5])]

    def fold(self, edits: Iterable[Known]) -> None:
        """Bring the rows up to date with `edits`."""
        touched: dict[str, list[Known]] = defaultdict(list)
        for edit in edits:
            touched[edit[0]].append(edit)
        for name, made in touched.items():
            kind, ids = self.kinds[name], dict.fromkeys(edit[1] for edit in made)
            cells: dict[str, Cells] = {**{key: {} for key in ids}, **self.cells(name, list(ids))}
            texts = kind.texts
            for _, record, field, stamp, base, value in made:
                own = cells[record]
                own[field] = merge.fold(own.get(field), stamp, base, value, field in texts)
            self.database.many(SAVE, [_row(kind, *record) for record in cells.items()])

    def cells(self, kind: str, ids: list[str]) -> dict[str, Cells]:
        """Return {id: {field: merge cell}} of those of `ids` that there are."""
        sql = f"SELECT id, cells FROM record WHERE kind = ? AND id IN ({self.database.listed})"
        return {
            record: orjson.loads(cells)
            for record, cells in self.database.rows(sql, (kind, json.dumps(ids)))
        }

    def rebuild(self, tell: Told = unheard) -> bool:
        """Make all rows anew. Equal, by the merge's laws, to keeping them up.

        `tell` hears now and then how many changes of how many are done. Returns whether there was
        anything that this version does not know.
        """
        has_strange = False
        total = self.database.rows("SELECT COUNT(*) FROM change", ())[0][0]
        self.database.rows("DELETE FROM record", ())
        done = 0
        for rows in parted(self.database.streamed(LOG), AT_ONCE):
            edits = [(*row[:5], json.loads(row[5])) for row in rows]
            known = self.known(edits)
            has_strange = has_strange or len(known) < len(edits)
            self.fold(known)
            done += len(rows)
            tell(done, total)
        return has_strange


def shown(cells: Cells) -> dict[str, Any]:
    """Return {field: value} as people see it."""
    return {name: merge.value(cell) for name, cell in cells.items()}


def _shown(cells: Cells, name: str | None) -> Any:
    return merge.value(cells[name]) if name and name in cells else None


def _row(kind: Kind, record: str, cells: Cells) -> tuple[Any, ...]:
    is_removed = bool(_shown(cells, "deleted"))
    is_apart = any(name in cells and merge.apart(cells[name]) for name in kind.texts)
    return (
        kind.name,
        record,
        _shown(cells, kind.about) or "",
        _shown(cells, kind.also[0] if kind.also else None) or "",
        f"{_shown(cells, kind.newest) or ''} {record}",
        is_removed,
        is_apart and not is_removed,  # of what was removed there is nothing to choose
        orjson.dumps(cells, option=orjson.OPT_SORT_KEYS).decode(),
    )
