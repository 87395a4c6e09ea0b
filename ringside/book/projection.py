"""What is so now: one row a record, made from the log by the merge's pure fold.

Only what this version knows, and what its declaration allows, is folded. The rest stays in the
log, and is folded when a version that knows it makes the rows anew.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from ringside.book import merge
from ringside.book.changes import as_text
from ringside.book.databases import Database
from ringside.book.kinds import Kind, knows
from ringside.book.parts import parted

# One field of one record set anew: kind, record, field, stamp, base, value.
Edit = tuple[str, str, str, str, str, Any]
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

    def fold(self, edits: Iterable[Edit]) -> None:
        """Bring the rows up to date with `edits`, which this version may or may not know."""
        touched: dict[str, dict[str, list[Edit]]] = defaultdict(lambda: defaultdict(list))
        for edit in edits:
            if self.knows(edit):
                touched[edit[0]][edit[1]].append(edit)
        for name, records in touched.items():
            kind, cells = self.kinds[name], self.cells(name, list(records))
            for record, made in records.items():
                fields = cells.setdefault(record, {})
                for _, _, field, stamp, base, value in made:
                    is_text = field in kind.texts
                    fields[field] = merge.fold(fields.get(field), stamp, base, value, is_text)
            self.database.many(SAVE, [_row(kind, *record) for record in cells.items()])

    def knows(self, edit: Edit) -> bool:
        """Whether this version knows what is set, and its declaration allows the value."""
        return knows(self.kinds, edit[0], edit[2], edit[5])

    def cells(self, kind: str, ids: list[str]) -> dict[str, Cells]:
        """Return {id: {field: merge cell}} of those of `ids` that there are."""
        sql = f"SELECT id, cells FROM record WHERE kind = ? AND id IN ({self.database.listed})"
        return {
            record: json.loads(cells)
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
            has_strange = has_strange or not all(map(self.knows, edits))
            self.fold(edits)
            done += len(rows)
            tell(done, total)
        return has_strange


def shown(cells: Cells) -> dict[str, Any]:
    """Return {field: value} as people see it."""
    return {name: merge.value(cell) for name, cell in cells.items()}


def _row(kind: Kind, record: str, cells: Cells) -> tuple[Any, ...]:
    values = shown(cells)
    about = values.get(kind.about) if kind.about else None
    beside = values.get(kind.also[0]) if kind.also else None
    moment = values.get(kind.newest) if kind.newest else None
    is_removed = bool(values.get("deleted"))
    is_apart = any(merge.apart(cells[name]) for name in kind.texts & cells.keys())
    return (
        kind.name,
        record,
        about or "",
        beside or "",
        f"{moment or ''} {record}",
        is_removed,
        is_apart and not is_removed,  # of what was removed there is nothing to choose
        as_text(cells),
    )
