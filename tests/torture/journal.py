"""What the people wrote and what they were told, kept outside their phones; and what must hold."""

from __future__ import annotations

import collections
import json
import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from ringside.book import merge
from ringside.book.kinds import KINDS
from ringside.book.pages import View
from tests.torture.world import World

Content = tuple[str, str, str, str, str]  # kind, record, field, value as JSON, device
# {kind: {record: {field: value shown}}}, without fields that were never written
Shown = dict[str, dict[str, dict[str, Any]]]

LOG = "SELECT seq, id, kind, record, field, value, device, stamp, base FROM change ORDER BY seq"
MOST_TOLD = 5  # of each thing that is wrong


@dataclass
class Journal:
    """The memory of one phone's person."""

    name: str
    view: View = field(default_factory=View)
    written: dict[str, Content] = field(default_factory=dict)
    taken: set[str] = field(default_factory=set)
    refused: set[str] = field(default_factory=set)
    # Written and not known to be taken when the phone's storage was lost: may be in the book.
    lost: set[str] = field(default_factory=set)
    # What the phone's present storage has had before it: its own, and what came from the book.
    held: set[str] = field(default_factory=set)
    # Whether it began with records as they stand, and so never had the changes behind them.
    had_records: bool = False
    failures: list[Any] = field(default_factory=list)
    trouble: list[str] = field(default_factory=list)

    def wrote(self, change: dict[str, Any]) -> None:
        value = json.dumps(change["value"], sort_keys=True)
        place = (change["kind"], change["record"], change["field"])
        self.written[change["id"]] = (*place, value, change["device"])
        self.held.add(change["id"])

    def heard(self, answer: dict[str, Any], had_cursor: bool) -> None:
        """Note an answer that the phone has kept."""
        self.taken.update(answer["taken"])
        self.refused.update(row["id"] for row in answer["refused"])
        self.held.update(change["id"] for change in answer["changes"])
        self.had_records |= bool(answer["records"])
        if answer["anew"] and had_cursor:
            self.trouble.append("The book no longer knew a place that it had named.")

    def storage_lost(self, gone: set[str], held: Iterable[str] = ()) -> None:
        """What was only on the phone is gone; of what was seen there, `held` is left."""
        self.lost |= gone - self.taken
        self.held = set(held)

    def may_see(self, kind: str, name: str) -> bool:
        """Whether the book gives this phone what is in the field of a kind."""
        return self.view.fields is None or f"{kind}.{name}" in self.view.fields

    @property
    def waiting(self) -> set[str]:
        """What nobody has acknowledged, so it must still be on the phone."""
        return self.written.keys() - self.taken - self.refused - self.lost


@dataclass
class Account:
    """What one phone holds, and the journal of its person."""

    journal: Journal
    unsent: set[str]
    refused: set[str]
    shown: Shown
    # Whether the phone may have died with a whole answer in its hand, and so sends again.
    may_repeat: bool = False

    def outbox_problems(self) -> Iterator[str]:
        """What is wrong with what waits on the phone, at any moment."""
        journal = self.journal
        who = journal.name
        yield from _told(f"{who}: not acknowledged and gone", journal.waiting - self.unsent)
        if not self.may_repeat:
            yield from _told(f"{who}: waits though acknowledged", self.unsent - journal.waiting)
        yield from _told(f"{who}: refused and gone", journal.refused - journal.lost - self.refused)
        yield from (f"{who}: {trouble}" for trouble in journal.trouble)


@dataclass
class Ledger:
    """What the book holds: its log, what it shows, and how it is."""

    log: list[tuple[Any, ...]]
    shown: Shown
    rebuilt: Shown
    contested: int
    ailments: list[str]

    @classmethod
    def of(cls, world: World) -> Ledger:
        """Read a book that nobody writes into."""
        ailments = []
        if not world.database:
            ailments = [row[0] for row in world.rows("PRAGMA integrity_check") if row[0] != "ok"]
        if found := world.check():
            ailments.append(f"ringside check: {found}")
        log = world.rows(LOG)
        book = world.open_book()
        try:
            with book.session():
                shown = _records(book)
                book.rebuild()
                rebuilt, contested = _records(book), book.contested()
        finally:
            book.close()
        return cls(log, shown, rebuilt, contested, ailments)

    def problems(self, accounts: Iterable[Account]) -> list[str]:
        """Hold the book against what the people remember and what their phones show."""
        accounts = list(accounts)
        journals = [account.journal for account in accounts]
        found = [*self.ailments, *self._entries(journals), *self._projection()]
        for account in accounts:
            found += [*account.outbox_problems(), *self._phone(account)]
        return found

    def _entries(self, journals: list[Journal]) -> Iterator[str]:
        times = collections.Counter(row[1] for row in self.log)
        entered = {
            row[1]: (*row[2:5], json.dumps(json.loads(row[5]), sort_keys=True), row[6])
            for row in self.log
        }
        yield from _told("in the book more than once", (key for key in times if times[key] > 1))
        written: dict[str, Content] = {}
        for journal in journals:
            written |= journal.written
            who = journal.name
            gone = journal.taken - times.keys()
            yield from _told(f"{who}: acknowledged and not in the book", gone)
            yield from _told(f"{who}: refused and in the book", journal.refused & times.keys())
        yield from _told("in the book and never written", times.keys() - written.keys())
        wrong = (key for key in entered.keys() & written.keys() if entered[key] != written[key])
        yield from _told("in the book with other content", wrong)
        if self.contested:
            yield f"{self.contested} changes came with an id that another one has"

    def _projection(self) -> Iterator[str]:
        yield from _differences("the book", self.shown, "its rebuilt records", self.rebuilt)
        yield from _differences("the book", self.shown, "its log, folded", _folded(self.log))

    def _phone(self, account: Account) -> Iterator[str]:
        journal = account.journal
        visible = {row[1] for row in self.log if journal.may_see(row[2], row[4])}
        if not journal.had_records:
            yield from _told(f"{journal.name}: never received", visible - journal.held)
        expected = {
            kind: self.shown[kind] if journal.may_see(kind, "deleted") else {}
            for kind in self.shown
        }
        yield from _differences(journal.name, account.shown, "the book", expected)


def shown_by(values: Shown) -> Shown:
    """Return only what says something: records and fields that have a value."""
    return {
        kind: {
            record: {name: value for name, value in fields.items() if value is not None}
            for record, fields in values.get(kind, {}).items()
        }
        for kind in KINDS
    }


def _records(book: Any) -> Shown:
    return shown_by({kind: book.records(kind, with_deleted=True) for kind in KINDS})


def _folded(log: list[tuple[Any, ...]]) -> Shown:
    """What the log comes to in another order, which must not matter."""
    cells: dict[tuple[str, str, str], merge.Cell] = {}
    rows = list(log)
    random.Random(len(rows)).shuffle(rows)
    for _, _, kind, record, name, value, _, stamp, base in rows:
        place, known = (kind, record, name), KINDS.get(kind)
        if known and name in known.fields:
            is_text = known.fields[name].is_text
            cells[place] = merge.fold(cells.get(place), stamp, base, json.loads(value), is_text)
    values: Shown = {}
    for (kind, record, name), cell in cells.items():
        values.setdefault(kind, {}).setdefault(record, {})[name] = merge.value(cell)
    return shown_by(values)


def _told(what: str, which: Iterable[str]) -> Iterator[str]:
    found = sorted(which)
    if found:
        yield f"{what}: {len(found)}, such as {', '.join(found[:MOST_TOLD])}"


def _differences(one: str, shown: Shown, other: str, expected: Shown) -> Iterator[str]:
    for kind in KINDS:
        mine, theirs = shown[kind], expected[kind]
        wrong = [key for key in mine.keys() | theirs.keys() if mine.get(key) != theirs.get(key)]
        for key in sorted(wrong)[:MOST_TOLD]:
            yield f"{kind} {key}: {one} shows {mine.get(key)}, {other} {theirs.get(key)}"
