"""Taking changes in: what is new of them goes to the log and the projection, all or nothing."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from operator import itemgetter
from typing import Any

from ringside.book import changes as rules
from ringside.book import clock
from ringside.book.databases import Database
from ringside.book.kinds import Kind
from ringside.book.projection import Known, Projection

Row = tuple[Any, ...]

# A stamp may lead our clock by this much (ms) before it is ordered by our present instead.
MOST_LEAD = 5 * 60 * 1000
TAKEN_ID = "Another change already has this id; both are saved. Write it again."
REPLACES_NEWER = "It replaces a newer value; write it again."

LOG_COLUMNS = (
    "id", "kind", "record", "field", "value", "stamp", "raw", "base", "device", "received",
)  # fmt: skip
ADD = f"INSERT INTO change ({', '.join(LOG_COLUMNS)}) VALUES ({', '.join('?' * len(LOG_COLUMNS))})"
KNOWN = """
    SELECT id, kind, record, field, value, device, raw, stamp FROM change WHERE id IN ({listed})
"""
USED = "SELECT stamp FROM change WHERE stamp IN ({listed})"
NEWEST = "SELECT MAX(stamp) FROM change"
APART = """
    INSERT INTO contested (id, content, received) SELECT ?, ?, ?
    WHERE NOT EXISTS (SELECT 1 FROM contested WHERE id = ? AND content = ?)
"""


@dataclass
class Receipt:
    """What became of the changes that a device sent, by their ids."""

    taken: list[str] = field(default_factory=list)
    refused: dict[str, str] = field(default_factory=dict)
    restamped: dict[str, str] = field(default_factory=dict)


@dataclass
class Taken:
    """What new changes edit, of what this version knows; and whether there was anything else."""

    edits: list[Known] = field(default_factory=list)
    has_strange: bool = False


def sift(incoming: Iterable[Any], receipt: Receipt) -> Iterator[dict[str, Any]]:
    """Give those of `incoming` (parsed JSON) that have the form of a change; refuse the rest."""
    for change in incoming:
        reason = rules.form_problem(change)
        if reason is None:
            yield change
        else:
            key = change.get("id") if isinstance(change, dict) else None
            receipt.refused[key if isinstance(key, str) else ""] = reason


def newest_stamp(database: Database) -> str:
    """Return the greatest stamp of the log, "" if there is none."""
    return database.rows(NEWEST, ())[0][0] or ""


class Taking:
    """One batch on its way into the log, under the writer's lock."""

    def __init__(
        self,
        database: Database,
        kinds: Mapping[str, Kind],
        formed: list[dict[str, Any]],
        now: int,
        receipt: Receipt,
        from_log: bool,
    ) -> None:
        """Look up what the log knows of the changes `formed`, which came at `now` (ms)."""
        self.database, self.kinds, self.now, self.receipt = database, kinds, now, receipt
        self.from_log = from_log
        # In the order they were made, so that those which get a stamp here keep that order.
        self.formed = sorted(formed, key=itemgetter("stamp"))
        ids = [change["id"] for change in formed]
        self.known = {row[0]: row[1:] for row in self._listed(KNOWN, ids)}
        # What a base means that names a stamp as its device gave it: the stamp the book gave it,
        # or for a change that was refused, what that one was to replace.
        self.meant = {raw: stamp for *_, raw, stamp in self.known.values() if raw != stamp}
        self.newest = newest_stamp(database)
        # A stamp names one change: a phone that was put back to an older copy gives one again.
        # None that is greater than the greatest of the log is in it.
        stamps = (change["stamp"] for change in formed if change["id"] not in self.known)
        again = [stamp for stamp in stamps if stamp <= self.newest]
        self.used = {row[0] for row in self._listed(USED, again)} if again else set()
        self.too_late = clock.tick("", now + MOST_LEAD + 1, "")
        self.rows: list[tuple[Any, ...]] = []
        self.taken = Taken()

    def _listed(self, sql: str, members: list[str]) -> list[tuple[Any, ...]]:
        sql = sql.replace("{listed}", self.database.listed)
        return self.database.rows(sql, (json.dumps(members),))

    def run(self) -> Taken:
        """Judge each change, write those that are new into the log, and return what they edit."""
        for change in self.formed:
            reason = self._judged(change)
            if reason:
                self.receipt.refused[change["id"]] = reason
                self.meant[change["stamp"]] = self._base(change)
        self.database.many(ADD, self.rows)
        return self.taken

    def _base(self, change: dict[str, Any]) -> str:
        base: str = change["base"]
        return " ".join([self.meant.get(part, part) for part in base.split()]) if base else ""

    def _judged(self, change: dict[str, Any]) -> str | None:
        """Take a change, or return why it cannot be taken."""
        declared = rules.field_of(change, self.kinds)
        reason = rules.value_problem(change, declared)
        known = self.known.get(change["id"])
        if known:
            return self._known(change, known, reason)
        if reason and self.from_log:
            reason, declared = rules.log_problem(change), None
        return reason or self._new(change, declared is not None)

    def _known(self, change: dict[str, Any], known: Row, reason: str | None) -> str | None:
        content = _content(change)
        # What a newer version has taken counts, though this one would refuse it.
        if known[:-2] == content:
            self._count(change["id"], change["stamp"], known[-1])
            return None
        if reason:
            return reason
        key, whole = change["id"], rules.as_text(change)
        self.database.rows(APART, (key, whole, self.now, key, whole))
        return TAKEN_ID

    def _new(self, change: dict[str, Any], is_declared: bool) -> str | None:
        key, raw, base = change["id"], change["stamp"], self._base(change)
        replaced = max(base.split(), default="") if base else ""
        stamp = raw
        if raw >= self.too_late or raw <= replaced or raw in self.used:
            stamp = clock.tick(self.newest, self.now, clock.node(raw), clock.BOOK)
        if stamp <= replaced:
            return REPLACES_NEWER
        self.newest = clock.later(self.newest, stamp)
        self.used.add(stamp)
        if stamp != raw:
            self.meant[raw] = stamp
        self._count(key, raw, stamp)
        kind, record, name, text, device = content = _content(change)
        self.known[key] = (*content, raw, stamp)
        self.rows.append((key, kind, record, name, text, stamp, raw, base, device, self.now))
        if is_declared:
            edit = kind, record, name, stamp, base, change["value"]
            self.taken.edits.append(Known(edit))
        else:
            self.taken.has_strange = True
        return None

    def _count(self, key: str, raw: str, stamp: str) -> None:
        self.receipt.taken.append(key)
        if stamp != raw:
            self.receipt.restamped[key] = stamp


def _content(change: dict[str, Any]) -> tuple[Any, ...]:
    """Return what a change says, and who: the same id with other content is another change."""
    try:
        text = rules.as_text(change["value"])
    except RecursionError:  # it is refused, and so in no log
        text = ""
    return change["kind"], change["record"], change["field"], text, change["device"]


def take(
    database: Database,
    projection: Projection,
    formed: list[dict[str, Any]],
    now: int,
    receipt: Receipt,
    from_log: bool = False,
) -> Taken:
    """Take in the changes `formed` at `now` (ms) and return what they edit; `receipt` tells.

    What is `from_log` some version took once: what this one does not allow is not folded.
    """
    taken = Taking(database, projection.kinds, formed, now, receipt, from_log).run()
    projection.fold(taken.edits)
    return taken
