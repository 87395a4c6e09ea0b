"""The book: one database that keeps every change, and projects from them what is so now.

All writing goes through `Book.append`. Order of arrival, repeats and any split into batches lead
to the same book, because the log refuses a second change of the same id and the merge is a pure
fold that does not care for order.

What every request asks is written as SQL here: building it anew with Peewee takes longer than
running it. What is asked now and then stays with Peewee.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import uuid6

from ringside.book import changes as rules
from ringside.book import clock, merge
from ringside.book.databases import (
    Database,
    Postgres,
    Sqlite,
    is_damaged,
    is_full,
    is_read_only,
    is_trouble,
)
from ringside.book.kinds import KINDS, Kind, digest
from ringside.book.models import Contested
from ringside.book.pages import MOST, Asked, Page, Pages, View
from ringside.book.place import Place
from ringside.book.projection import Projection, Told, shown, unheard
from ringside.book.taking import Receipt, newest_stamp, sift, take

FORMAT = 2
OTHER_VERSION = (
    "Another version of Ringside has this book open. Stop this server and start it again."
)
FULL = "The disk is full, so nothing was changed. Make room on the disk and try again."
READ_ONLY = (
    "The server cannot write to the book at the moment, so nothing was changed. Ask "
    "whoever runs the server."
)
DAMAGED = (
    "The book is damaged on its disk, so nothing was changed. Whoever runs the "
    "server must stop it and put the newest copy back with `ringside restore`."
)
AWAY = "The server cannot reach the book at the moment, so nothing was changed. Try again soon."
ALL = View()
LAST = "~"  # stands behind all that a day, a moment or an id begins with
SET = "INSERT INTO meta (key, value) VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET value = ?"


class BookError(Exception):
    """The book cannot be opened or used; the message says what to do."""


class BookUnavailable(BookError):
    """The database cannot serve the book at the moment; what was asked for was not done."""


class Book:
    """A kennel's book in its database. Safe to use from several threads."""

    def __init__(self, place: Place, kinds: Mapping[str, Kind] = KINDS) -> None:
        """Have the book at `place`, which `opening` opens, or makes. Raises BookError.

        Its rows are of the records that `kinds` declare.
        """
        self.place = place
        self.database = _database(place)
        self.db = self.database.db
        self.kinds = kinds
        self.digest = digest(kinds)
        self.projection = Projection(self.database, kinds)
        self._packed = frozenset(name for name, kind in kinds.items() if kind.packs)
        self._id = ""
        # Why the book was of no use last, if that stays until somebody mends it.
        self.trouble = ""

    def meta(self, key: str) -> str | None:
        """Return what the book knows of itself by the name `key`."""
        row = self._row("SELECT value FROM meta WHERE key = ?", key)
        return str(row[0]) if row else None

    def set_meta(self, key: str, value: str) -> None:
        """Have the book know something of itself."""
        self.rows(SET, key, value, value)

    def rows(self, sql: str, *values: Any) -> list[tuple[Any, ...]]:
        """Run a statement of ours and return its rows. `{listed}` takes a list as JSON."""
        return self.database.rows(sql.replace("{listed}", self.database.listed), values)

    def _row(self, sql: str, *values: Any) -> tuple[Any, ...] | None:
        return next(iter(self.rows(sql, *values)), None)

    @property
    def id(self) -> str:
        """The book's own id, which its copies share."""
        return self._id

    @property
    def secret(self) -> str:
        """The key that signs session cookies."""
        return self.meta("secret") or ""

    def learn_id(self) -> None:
        """Learn the book's own id, which is asked for outside of sessions too."""
        self._id = self.meta("id") or ""

    def rename(self, book_id: str) -> None:
        """Give the book a fixed id: for the demo, whose phones should know it again."""
        self.set_meta("id", book_id)
        self._id = book_id

    @contextmanager
    def session(self) -> Iterator[None]:
        """Have a connection for one request; nested and repeated use is fine.

        Raises BookUnavailable where the database failed; what was begun is then undone.
        """
        is_first = False
        try:
            is_first = self.db.connect(reuse_if_open=True)
            yield
        except self.database.errors as error:
            if not self.db.in_transaction():
                self.db.close()
            if not is_trouble(error):
                raise
            words = _unavailable(error)
            if words != AWAY:
                self.trouble = words
            raise BookUnavailable(words) from error
        finally:
            if is_first:
                self.database.release()

    def close(self) -> None:
        """Close this thread's connection, and what is shared; the next session opens another."""
        self.database.close()

    def is_kept_by_us(self) -> bool:
        """Whether the rows are made as we declare them: another version may have come since."""
        return self.meta("kinds") == self.digest

    def refuse_if_anothers(self) -> None:
        """Raise BookUnavailable if another version has made the rows its own since we opened it."""
        if not self.is_kept_by_us():
            raise BookUnavailable(OTHER_VERSION)

    @contextmanager
    def reading(self) -> Iterator[None]:
        """See the book as it was at the first query. Raises BookUnavailable as `writing` does.

        A cursor passes what lies before it: it must not be of the rows of another version.
        """
        with self.database.snapshot():
            self.refuse_if_anothers()
            yield

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Hold the one writer's lock: what is numbered inside is committed in that order.

        Raises BookUnavailable if another version has made the rows its own since we opened it.
        """
        with self.database.writing():
            self.refuse_if_anothers()
            yield
        if self.trouble != DAMAGED:  # other pages may well be whole
            self.trouble = ""

    # --- taking changes in

    def append(self, incoming: Iterable[Any], now: int, from_log: bool = False) -> Receipt:
        """Keep what is new of `incoming` (parsed JSON), at `now` (ms). All or nothing is stored.

        A change that is known already counts as taken. One that cannot be kept is refused with
        a reason; of those `from_log`, which some version took once, what this one does not allow
        is kept and not folded. One with a known id but other content is kept apart and refused.
        """
        receipt = Receipt()
        formed = list(sift(incoming, receipt))
        if formed:
            with self.writing():
                taken = take(self.database, self.projection, formed, now, receipt, from_log)
                if any(edit[0] in self._packed for edit in taken.edits):
                    self.set_meta("packed", str(self.newest()))
                if taken.has_strange:
                    self.set_meta("strange", "1")
        return receipt

    def write_down(self, kind: str, rows: Iterable[dict[str, Any]], now: int) -> Receipt:
        """Write new records of `kind` with the values of `rows`, as the desk."""
        return self.revise(kind, {str(uuid6.uuid7()): row for row in rows}, now)

    def revise(self, kind: str, records: dict[str, dict[str, Any]], now: int) -> Receipt:
        """Set fields of records of `kind`, {id: {field: value}}, as the desk: a device like others.

        The desk's id is made when it first writes, and kept in the book. An edit replaces the value
        that is shown, and no other. All or nothing is stored.
        """
        with self.writing():
            device = self.meta("desk") or str(uuid6.uuid7())
            self.set_meta("desk", device)
            stamp, made = newest_stamp(self.database), []
            known = self.projection.cells(kind, list(records))
            for record, values in records.items():
                cells = known.get(record, {})
                for name, value in values.items():
                    replaced = merge.base(cells.get(name)).split()
                    is_named = False
                    while not is_named:  # several where more are replaced than one can name
                        stamp = clock.tick(stamp, now, clock.node_of(device))
                        base, rest = replaced[: rules.MOST_BASES], replaced[rules.MOST_BASES :]
                        change = {"id": str(uuid6.uuid7()), "kind": kind, "record": record}
                        written = {"field": name, "value": value, "stamp": stamp}
                        made.append({**change, **written, "base": " ".join(base), "device": device})
                        is_named, replaced = not rest, [stamp, *rest]
            return self.append(made, now)

    def rebuild(self, tell: Told = unheard) -> None:
        """Make all rows anew from the log; `tell` hears how far that is."""
        with self.database.writing():
            has_strange = self.projection.rebuild(tell)
            self.set_meta("kinds", self.digest)
            self.set_meta("packed", str(self.newest()))
            self.rows("DELETE FROM meta WHERE key = 'strange'")
            if has_strange:
                self.set_meta("strange", "1")

    # --- giving out

    def page(self, cursor: str, known: Collection[str] = (), most: int = MOST, **more: Any) -> Page:
        """Return what is behind `cursor`, as an owner sees it; see `Asked`."""
        return self.seen(ALL, Asked(cursor, known, most, **more))

    def seen(self, view: View, asked: Asked) -> Page:
        """Return what is asked for, as `view` shows it."""
        return Pages(self.database, self.kinds, view).page(asked)

    def records(self, kind: str, with_deleted: bool = False) -> dict[str, dict[str, Any]]:
        """Return {id: {field: value shown}} of all records of `kind`."""
        return self._found("kind = ?", (kind,), "id", with_deleted)

    def about(
        self, kind: str, owner: str, most: int = -1, *, since: str = "", until: str = LAST
    ) -> dict[str, dict[str, Any]]:
        """Return {id: values} of the records of `kind` about `owner`, newest first, so many.

        `since` and `until` are how the kind's `newest` field may begin: of days or moments those
        from the one up to, and with, the other.
        """
        where = "kind = ? AND about = ? AND moment >= ? AND moment < ?"
        limit = f"moment DESC{f' LIMIT {most}' if most >= 0 else ''}"
        return self._found(where, (kind, owner, since, f"{until}{LAST}"), limit, False)

    def about_any(
        self, kind: str, owners: list[str], with_deleted: bool = False
    ) -> dict[str, dict[str, Any]]:
        """Return {id: values} of the records of `kind` about one of `owners`, of each the oldest
        first."""
        where = f"kind = ? AND about IN ({self.database.listed})"
        # By their ids alone, SQLite would read all rows of the kind in that order; so in `beside`.
        return self._found(where, (kind, json.dumps(owners)), "about, moment", with_deleted)

    def beside(
        self, kind: str, others: list[str], with_deleted: bool = False
    ) -> dict[str, dict[str, Any]]:
        """Return {id: values} of the records of `kind` that are found by one of `others`: the
        first thing that the kind is looked up by beside its owner. Of each the oldest first."""
        where = f"kind = ? AND beside <> '' AND beside IN ({self.database.listed})"
        return self._found(where, (kind, json.dumps(others)), "beside, id", with_deleted)

    def _found(
        self, where: str, values: tuple[str, ...], order: str, with_deleted: bool
    ) -> dict[str, dict[str, Any]]:
        live = "" if with_deleted else " AND NOT deleted"
        sql = f"SELECT id, cells FROM record WHERE {where}{live} ORDER BY {order}"
        return {record: shown(json.loads(cells)) for record, cells in self.rows(sql, *values)}

    def record(self, kind: str, key: str) -> dict[str, Any]:
        """Return {field: value shown} of one record of `kind`, {} if there is none."""
        return self.some(kind, [key]).get(key, {})

    def some(self, kind: str, keys: list[str]) -> dict[str, dict[str, Any]]:
        """Return {id: values} of those of `keys` that are records of `kind`, removed ones too."""
        cells = self.projection.cells(kind, keys)
        return {record: shown(own) for record, own in cells.items()}

    def texts_apart(self) -> list[dict[str, Any]]:
        """Return the text fields of live records that hold more than one text.

        Each is {kind, record, field, texts}.
        """
        found = []
        # Not sorted there: SQLite would read all rows in that order, and not the index of the few.
        for kind, record, cells in sorted(
            self.rows("SELECT kind, id, cells FROM record WHERE apart")
        ):
            for name, cell in json.loads(cells).items():
                others = merge.apart(cell)
                if others:
                    both = [merge.value(cell), *others.values()]
                    found.append({"kind": kind, "record": record, "field": name, "texts": both})
        return found

    def newest(self) -> int:
        """Return the number of the newest change, 0 if there is none."""
        row = self._row("SELECT MAX(seq) FROM change")
        return int((row and row[0]) or 0)

    def packed(self) -> int:
        """Return a number that moves whenever a pack may have become stale."""
        return int(self.meta("packed") or 0)

    def touched(self, after: int, kinds: Collection[str]) -> list[tuple[str, str]]:
        """Return (kind, id) of the records of `kinds` that changed behind the number `after`."""
        sql = "SELECT DISTINCT kind, record FROM change WHERE seq > ? AND kind IN ({listed})"
        return [(kind, record) for kind, record in self.rows(sql, after, json.dumps(list(kinds)))]

    def recent(self, most: int) -> list[dict[str, Any]]:
        """Return the newest changes that are told of, the newest first, with `received` (ms)."""
        told = json.dumps([name for name, kind in self.kinds.items() if kind.listed])
        columns = (*rules.KEYS, "received")
        sql = f"SELECT {', '.join(columns)} FROM change WHERE kind IN ({{listed}})"
        rows = self.rows(f"{sql} ORDER BY seq DESC LIMIT {most:d}", told)
        found = [dict(zip(columns, row, strict=True)) for row in rows]
        return [{**change, "value": json.loads(change["value"])} for change in found]

    def contested(self) -> int:
        """Return how many changes are kept apart because their id was taken."""
        return int(Contested.select().count(self.db))


def server(url: str) -> Postgres:
    """Return the database at `url`. Raises BookError if that is none."""
    try:
        return Postgres(url)
    except ValueError as error:
        raise BookError(str(error)) from error


def out_of_reach(place: str, error: BaseException | None) -> str:
    """Return what to do about a database server that does not answer."""
    said = " ".join(str(error).partition("\nLINE ")[0].split())  # without a statement of ours
    return (
        f"The database {place} cannot be used ({said}). Check that it is running and "
        "lets this user in, or correct the address."
    )


def _database(place: Place) -> Database:
    if place.url:
        return server(place.url)
    try:
        return Sqlite(place.file)
    except OSError as error:
        raise BookError(f"Cannot make the folder {place.data}: {error.strerror}.") from error


def _unavailable(error: Exception) -> str:
    """Say that the database failed. What it says itself may name hosts and users: not here."""
    if is_full(error):
        return FULL
    if is_read_only(error):
        return READ_ONLY
    return DAMAGED if is_damaged(error) else AWAY
