"""The book: one database that keeps every change, and projects from them what is so now.

All writing goes through `Book.append`. Order of arrival, repeats and any split into batches lead
to the same book, because the log refuses a second change of the same id and the merge is a pure
fold that does not care for order.

What every request asks is written as SQL here: building it anew with Peewee takes longer than
running it. What is asked now and then stays with Peewee.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from operator import itemgetter
from typing import Any

import uuid6

from ringside.book import changes as rules
from ringside.book import clock, merge
from ringside.book.databases import Database, Postgres, Sqlite, is_full, is_read_only, is_trouble
from ringside.book.models import FIELDS, KINDS, Change, Contested
from ringside.book.place import Place

FORMAT = 1
# Packs are computed from records of these kinds.
PACKED = ("dog", "award")
# A stamp may lead our clock by this much (ms) before it is ordered by our present instead.
MOST_LEAD = 5 * 60 * 1000
PAGE = 500

TAKEN_ID = "Another change already has this id; both were kept apart. Write it anew."

LOG_COLUMNS = (
    "id", "kind", "record", "field", "value", "stamp", "raw", "base", "device", "received",
)  # fmt: skip
KNOWN = """
    SELECT id, kind, record, field, value, device, raw, stamp FROM change WHERE id IN ({listed})
"""
USED = "SELECT stamp FROM change WHERE stamp IN ({listed})"
BEHIND = f"""
    SELECT seq, {", ".join(rules.KEYS)} FROM change
    WHERE seq > ? AND seq <= ? AND kind NOT IN ({{listed}}) AND id NOT IN ({{listed}})
    ORDER BY seq LIMIT ?
"""
SET = "INSERT INTO meta (key, value) VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET value = ?"

# One field of one record set anew: kind, record, field, stamp, base, value.
Edit = tuple[str, str, str, str, str, Any]


class BookError(Exception):
    """The book cannot be opened or used; the message says what to do."""


class BookUnavailable(BookError):
    """The database cannot serve the book at the moment; what was asked for was not done."""


@dataclass
class Receipt:
    """What became of the changes that a device sent, by their ids."""

    taken: list[str] = field(default_factory=list)
    refused: dict[str, str] = field(default_factory=dict)
    restamped: dict[str, str] = field(default_factory=dict)


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


class Book:
    """A kennel's book in its database. Safe to use from several threads."""

    def __init__(self, place: Place) -> None:
        """Have the book at `place`, which `opening` opens, or makes. Raises BookError."""
        self.place = place
        self.database = _database(place)
        self.db = self.database.db
        self._id = ""

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
            raise BookUnavailable(_unavailable(error)) from error
        finally:
            if is_first:
                self.database.release()

    def close(self) -> None:
        """Close this thread's connection, and what is shared; the next session opens another."""
        self.database.close()

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Hold the one writer's lock: what is numbered inside is committed in that order."""
        with self.database.writing():
            yield

    # --- taking changes in

    def append(self, incoming: Iterable[Any], now: int) -> Receipt:
        """Keep what is new of `incoming` (parsed JSON), at `now` (ms). All or nothing is stored.

        A change that is known already counts as taken. One that cannot be kept is refused with
        a reason. One with a known id but other content is kept apart and refused.
        """
        receipt = Receipt()
        formed = list(self._sift(incoming, receipt))
        if formed:
            with self.writing():
                self._append(formed, now, receipt)
        return receipt

    def _sift(self, incoming: Iterable[Any], receipt: Receipt) -> Iterator[dict[str, Any]]:
        for change in incoming:
            reason = rules.form_problem(change)
            if reason is None:
                yield change
            else:
                key = change.get("id") if isinstance(change, dict) else None
                receipt.refused[key if isinstance(key, str) else ""] = reason

    def _append(self, formed: list[dict[str, Any]], now: int, receipt: Receipt) -> None:
        known = self._known([change["id"] for change in formed])
        # What a base means that names a stamp as its device gave it: the stamp the book gave it,
        # or for a change that was refused, what that one was to replace.
        meant = {raw: stamp for *_, raw, stamp in known.values() if raw != stamp}
        newest = self._newest_stamp()
        # A stamp names one change: a phone that was put back to an older copy gives one again.
        used = self._used([change["stamp"] for change in formed if change["id"] not in known])
        too_late = clock.tick("", now + MOST_LEAD + 1, "")
        rows: list[tuple[Any, ...]] = []
        edits: list[Edit] = []
        # In the order they were made, so that those which get a stamp here keep that order.
        for change in sorted(formed, key=itemgetter("stamp")):
            key, raw, device = change["id"], change["stamp"], change["device"]
            base, replaced = change["base"], ""
            if base:
                base = " ".join([meant.get(part, part) for part in base.split()])
                replaced = max(base.split(), default="")
            reason = rules.value_problem(change)
            if not reason:
                text = rules.as_text(change["value"])
                content = (change["kind"], change["record"], change["field"], text, device)
                if key in known and known[key][:-2] == content:
                    stamp = known[key][-1]
                    receipt.taken.append(key)
                    if stamp != raw:
                        receipt.restamped[key] = stamp
                    continue
                stamp = raw
                if raw >= too_late or raw <= replaced or raw in used:
                    stamp = clock.tick(newest, now, clock.node(raw), clock.BOOK)
                if key in known:
                    self._contest(change, now)
                    reason = TAKEN_ID
                elif stamp <= replaced:
                    reason = "It replaces a value newer than itself; write it again."
            if reason:
                receipt.refused[key] = reason
                meant[raw] = base
                continue
            newest = clock.later(newest, stamp)
            used.add(stamp)
            if stamp != raw:
                meant[raw] = receipt.restamped[key] = stamp
            receipt.taken.append(key)
            known[key] = (*content, raw, stamp)
            rows.append((key, *content[:4], stamp, raw, base, device, now))
            edits.append((*content[:3], stamp, base, change["value"]))
        self._insert(Change._meta.table_name, LOG_COLUMNS, rows)
        if any(kind in PACKED for kind, *_ in edits):
            self.set_meta("dogs", str(self.newest()))
        self._project(edits)

    def _known(self, ids: list[str]) -> dict[str, tuple[Any, ...]]:
        """Return {id: (kind, record, field, value, device, raw, stamp)} of those in the log."""
        return {row[0]: row[1:] for row in self.rows(KNOWN, json.dumps(ids))}

    def _used(self, stamps: list[str]) -> set[str]:
        """Return those of `stamps` that stand in the log."""
        return {row[0] for row in self.rows(USED, json.dumps(stamps))} if stamps else set()

    def _newest_stamp(self) -> str:
        row = self._row("SELECT MAX(stamp) FROM change")
        return (row and row[0]) or ""

    def _contest(self, change: dict[str, Any], now: int) -> None:
        content = rules.as_text(change)
        same = (Contested.id == change["id"]) & (Contested.content == content)
        if not Contested.select().where(same).exists(self.db):
            Contested.insert(id=change["id"], content=content, received=now).execute(self.db)

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
            stamp, made = self._newest_stamp(), []
            known = self._cells(kind, list(records))
            for record, values in records.items():
                cells = known.get(record, {})
                for name, value in values.items():
                    stamp = clock.tick(stamp, now, clock.node_of(device))
                    change = {"id": str(uuid6.uuid7()), "kind": kind, "record": record}
                    base = merge.base(cells.get(name))
                    written = {"field": name, "value": value, "stamp": stamp, "base": base}
                    made.append({**change, **written, "device": device})
            return self.append(made, now)

    # --- the projection

    def _project(self, edits: Iterable[Edit]) -> None:
        touched: dict[str, dict[str, list[Edit]]] = defaultdict(lambda: defaultdict(list))
        for edit in edits:
            touched[edit[0]][edit[1]].append(edit)
        for kind, records in touched.items():
            cells = self._cells(kind, list(records))
            texts = {name for name, declared in FIELDS[kind].items() if declared.is_text}
            for record, made in records.items():
                fields = cells.setdefault(record, {})
                for _, _, name, stamp, base, value in made:
                    fields[name] = merge.fold(fields.get(name), stamp, base, value, name in texts)
            self._save(kind, cells)

    def _cells(self, kind: str, ids: list[str]) -> dict[str, dict[str, merge.Cell]]:
        table = KINDS[kind]._meta.table_name
        sql = f'SELECT id, cells FROM "{table}" WHERE id IN ({{listed}})'
        found = self.rows(sql, json.dumps(ids))
        return {record: json.loads(cells) for record, cells in found}

    def _save(self, kind: str, records: dict[str, dict[str, merge.Cell]]) -> None:
        fields = FIELDS[kind]
        rows = [
            (
                record,
                rules.as_text(cells),
                *(
                    declared.stored(merge.value(cells[name])) if name in cells else None
                    for name, declared in fields.items()
                ),
            )
            for record, cells in records.items()
        ]
        columns = ("id", "cells", *fields)
        kept = ", ".join(f'"{name}" = excluded."{name}"' for name in columns[1:])
        self._insert(
            KINDS[kind]._meta.table_name, columns, rows, f' ON CONFLICT ("id") DO UPDATE SET {kept}'
        )

    def _insert(
        self, table: str, columns: tuple[str, ...], rows: list[tuple[Any, ...]], then: str = ""
    ) -> None:
        """Insert many rows in one go: Peewee's own bulk insert is some ten times slower."""
        names = ", ".join(f'"{name}"' for name in columns)
        marks = ", ".join("?" * len(columns))
        sql = f'INSERT INTO "{table}" ({names}) VALUES ({marks}){then}'
        self.database.many(sql, rows)

    def rebuild(self) -> None:
        """Project everything anew from the log. Equal, by the merge's laws, to keeping it up."""
        with self.writing():
            for model in KINDS.values():
                model.delete().execute(self.db)
            log = self.rows(
                "SELECT kind, record, field, stamp, base, value FROM change ORDER BY seq"
            )
            self._project((*edit[:5], json.loads(edit[5])) for edit in log)

    # --- giving out

    def page(
        self,
        cursor: str,
        known: Collection[str] = (),
        most: int = PAGE,
        hidden_kinds: tuple[str, ...] = (),
    ) -> Page:
        """Return the changes behind `cursor` ("" for all), without those whose ids are `known`.

        Those are what the phone sent just now, and not all that it ever sent: a phone that was put
        back to an older copy of itself has to be told its own. Those of `hidden_kinds` are left
        out too; the cursor moves on past them.

        The end is read first: what commits meanwhile has a greater number and comes next time.
        """
        start = self._position(cursor)
        end = self.newest()
        left_out = json.dumps(hidden_kinds), json.dumps(list(known))
        rows = self.rows(BEHIND, start or 0, end, *left_out, most + 1)
        more = len(rows) > most
        place = self._name(end)
        if more:
            rows.pop()
            # The end goes with it: a copy older than this answer lacks what was sent for it.
            place = f"{self._name(rows[-1][0])} {place}"
        sent = [dict(zip(rules.KEYS, row[1:], strict=True)) for row in rows]
        for change in sent:
            change["value"] = json.loads(change["value"])
        return Page(sent, place, more, anew=start is None)

    def _name(self, seq: int) -> str:
        """Name a place in the log so that no other book, and no restored copy, knows it.

        The id alone would not do: a change that a copy had lost may come back to its old number
        behind others than before. The moment it was received tells.
        """
        row = self._row("SELECT received, id FROM change WHERE seq = ?", seq)
        return f"{seq}.{row[0]}.{row[1][-12:]}" if row else ""

    def _position(self, cursor: str) -> int | None:
        """Return the number behind which `cursor` asks, None if it is none of this book's."""
        places = cursor.split(" ") if cursor else []
        numbers = [place.partition(".")[0] for place in places]
        for number, place in zip(numbers, places, strict=True):
            fits = number.isascii() and number.isdecimal() and len(number) < 16
            if not fits or self._name(int(number)) != place:
                return None
        return int(numbers[0]) if numbers else 0

    def records(self, kind: str, with_deleted: bool = False) -> dict[str, dict[str, Any]]:
        """Return {id: {field: value shown}} of all records of `kind`."""
        model = KINDS[kind]
        query = model.select(model.id, model.cells).tuples().execute(self.db)
        found = {record: _shown(json.loads(cells)) for record, cells in query}
        return {
            record: values
            for record, values in found.items()
            if with_deleted or not values.get("deleted")
        }

    def record(self, kind: str, key: str) -> dict[str, Any]:
        """Return {field: value shown} of one record of `kind`, {} if there is none."""
        return _shown(self._cells(kind, [key]).get(key, {}))

    def texts_apart(self) -> list[dict[str, Any]]:
        """Return the text fields that hold more than one text: {kind, record, field, texts}."""
        found = []
        for kind, fields in FIELDS.items():
            texts = [name for name, declared in fields.items() if declared.is_text]
            if not texts:
                continue
            model = KINDS[kind]
            query = model.select(model.id, model.cells).tuples().execute(self.db)
            for record, cells in query:
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

    def dogs_as_of(self) -> int:
        """Return a number that moves whenever a dog changes: packs before it may be stale."""
        return int(self.meta("dogs") or 0)

    def recent(self, most: int) -> list[dict[str, Any]]:
        """Return the newest changes first, with `received` (ms)."""
        query = Change.select().order_by(Change.seq.desc()).limit(most).dicts().execute(self.db)
        return [{**_as_sent(row), "received": row["received"]} for row in query]

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
        f"The database {place} cannot be used ({said}). See that it runs and lets this user in, "
        "or mend the address."
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
        return "The disk is full, so nothing was changed. Make room on the disk and try again."
    if is_read_only(error):
        return "The book can only be read here at the moment, so nothing was changed."
    return "The book cannot be reached at the moment, so nothing was changed. Try again soon."


def _shown(cells: dict[str, merge.Cell]) -> dict[str, Any]:
    return {name: merge.value(cell) for name, cell in cells.items()}


def _as_sent(row: dict[str, Any]) -> dict[str, Any]:
    return {key: row[key] for key in rules.KEYS} | {"value": json.loads(row["value"])}
