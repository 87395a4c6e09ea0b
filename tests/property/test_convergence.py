"""Any history of writing, syncing and mishaps leads every phone and the book to the same values,
and no text that somebody wrote is lost.

RINGSIDE_LONG=1 tries many more and longer histories.
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
)

from ringside.book.keeping import open_book
from ringside.book.kinds import KINDS, Kind
from ringside.book.place import Place as BookPlace
from ringside.book.store import Book
from tests.property.phone import Change, Phone, Place, start_ids_anew

MINUTE = 60_000
DAY = 24 * 60 * MINUTE
START = 1_760_000_000_000
# Thousands of commits: in memory, where the system offers that, they do not wait for a disk.
MEMORY = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None

# Few records, so that phones meet at them.
DOG = "0d000000-0000-7000-8000-000000000001"
NOTES = ("0d000000-0000-7000-8000-000000000002", "0d000000-0000-7000-8000-000000000003")
PLAIN = [("dog", DOG, "name"), ("note", NOTES[0], "station")]
TEXTS = [("note", note, "text") for note in NOTES]
DELETED = [("dog", DOG, "deleted"), ("note", NOTES[0], "deleted")]
PLACES = [*PLAIN, *TEXTS, *DELETED]

who = st.integers(0, 4)
few = st.integers(1, 4)
errors = st.one_of(
    st.integers(-10 * MINUTE, 10 * MINUTE),
    st.sampled_from([0, 0, 5 * MINUTE, 5 * MINUTE + 1, DAY, -DAY]),
)


class Kennel(RuleBasedStateMachine):
    """A book, two to five phones, and a true time that only goes forward."""

    kinds: Mapping[str, Kind] = KINDS  # of the build that serves the book

    @initialize(errors=st.lists(errors, min_size=2, max_size=5))
    def begin(self, errors: list[int]) -> None:
        start_ids_anew()
        self.now = START
        self.folder = Path(tempfile.mkdtemp(prefix="ringside-test-", dir=MEMORY))
        self.book = self.opened()
        self.copy: Path | None = None
        self.was_restored = False
        self.phones = [Phone(error) for error in errors]
        for phone in self.phones[1::2]:
            phone.takes_records = False  # as an older app
        self.requests: list[dict[str, Any]] = []
        self.made: dict[str, Change] = {}
        self.texts: dict[str, tuple[Place, frozenset[str]]] = {}  # id: place, known to its writer
        self.log: list[tuple[Any, ...]] = []
        self.words = 0

    def teardown(self) -> None:
        if hasattr(self, "book"):
            self.everything_meets()
            self.book.close()
            shutil.rmtree(self.folder)

    def opened(self) -> Book:
        return open_book(BookPlace(self.folder), self.kinds)

    def phone(self, number: int) -> Phone:
        return self.phones[number % len(self.phones)]

    def later(self, span: int = 7) -> int:
        self.now += span
        return self.now

    # --- writing

    def write(self, phone: Phone, place: Place, value: Any) -> None:
        change = phone.write(place, value, self.later())
        if change is None:
            return
        self.made[change["id"]] = change
        if place in TEXTS:
            known = phone.known.setdefault(place, set())
            self.texts[change["id"]] = (place, frozenset(known))
            known.add(change["id"])

    def new_words(self) -> str:
        self.words += 1
        return f"words {self.words}"

    @rule(number=who, place=st.sampled_from(PLAIN))
    def edit(self, number: int, place: Place) -> None:
        self.write(self.phone(number), place, self.new_words())

    @rule(number=who, place=st.sampled_from(TEXTS), times=st.integers(1, 3))
    def edit_text(self, number: int, place: Place, times: int) -> None:
        for _ in range(times):
            self.write(self.phone(number), place, self.new_words())

    @rule(number=who, place=st.sampled_from(DELETED))
    def delete_or_undo(self, number: int, place: Place) -> None:
        phone = self.phone(number)
        self.write(phone, place, not phone.shown(place))

    @rule(number=who, place=st.sampled_from(TEXTS))
    def settle_texts(self, number: int, place: Place) -> None:
        phone = self.phone(number)
        if others := phone.apart(place):
            self.write(phone, place, " + ".join(sorted([phone.shown(place), *others.values()])))

    @rule(number=who, place=st.sampled_from([*PLAIN, *TEXTS]))
    def write_what_the_book_refuses(self, number: int, place: Place) -> None:
        """As an older app might, that checks by other rules."""
        self.write(self.phone(number), place, "\x00" + self.new_words())

    # --- syncing

    def deliver(self, request: dict[str, Any], most: int = 500) -> dict[str, Any]:
        with self.book.session():
            receipt = self.book.append(request["changes"], self.now)
            page = self.book.page(
                request["cursor"], receipt.taken, most, size=most * 600, records=request["records"]
            )
        return {
            "now": self.now,
            "taken": receipt.taken,
            "refused": receipt.refused,
            "restamped": receipt.restamped,
            "cursor": page.cursor,
            "more": page.more,
            "anew": page.anew,
            "changes": page.changes,
            "records": [[it.kind, it.id, json.loads(it.cells)] for it in page.records],
        }

    def take(self, phone: Phone, answer: dict[str, Any]) -> None:
        for key, reason in answer["refused"].items():
            assert self.may_be_refused(self.made[key]), (
                reason,
                self.made[key],
                self.now,
                phone.changes,
            )
        phone.incoming(answer, self.now)
        for change in answer["changes"]:
            if change["id"] in self.texts:
                place, known = self.texts[change["id"]]
                phone.known.setdefault(place, set()).update(known, [change["id"]])
        logged = {row[1] for row in self.rows()} if answer["records"] else set()
        for kind, record, _ in answer["records"]:
            place = (kind, record, "text")
            here = [key for key, (where, _) in self.texts.items() if where == place]
            phone.known.setdefault(place, set()).update(logged.intersection(here))

    def may_be_refused(self, change: Change) -> bool:
        return "\x00" in change["value"]

    def ask(self, phone: Phone, most: int) -> dict[str, Any]:
        self.later()
        request = phone.outgoing(most)
        self.requests.append(request)
        return request

    @rule(number=who)
    def sync(self, number: int) -> None:
        phone = self.phone(number)
        for _ in range(2):
            self.take(phone, self.deliver(self.ask(phone, 200)))

    @rule(number=who, most=few, page=few, times=few)
    def sync_in_small_parts(self, number: int, most: int, page: int, times: int) -> None:
        phone = self.phone(number)
        for _ in range(times):
            self.take(phone, self.deliver(self.ask(phone, most), page))

    @rule(number=who, most=few)
    def request_lost(self, number: int, most: int) -> None:
        self.ask(self.phone(number), most)

    @rule(number=who, most=few)
    def answer_lost(self, number: int, most: int) -> None:
        self.deliver(self.ask(self.phone(number), most))

    @rule(number=who, most=few, place=st.sampled_from([*PLAIN, *TEXTS]))
    def write_while_syncing(self, number: int, most: int, place: Place) -> None:
        phone = self.phone(number)
        answer = self.deliver(self.ask(phone, most))
        self.write(phone, place, self.new_words())
        self.take(phone, answer)

    @rule(number=who, chance=st.randoms(use_true_random=False))
    def batch_out_of_order(self, number: int, chance: Any) -> None:
        phone = self.phone(number)
        request = self.ask(phone, 200)
        chance.shuffle(request["changes"])
        self.take(phone, self.deliver(request))

    @precondition(lambda self: self.requests)
    @rule(data=st.data())
    def old_request_arrives_again(self, data: st.DataObject) -> None:
        request = data.draw(st.sampled_from(self.requests))
        self.later()
        some = data.draw(st.integers(0, len(request["changes"])))
        self.deliver({**request, "changes": request["changes"][some:]})

    # --- mishaps

    @rule(span=st.sampled_from([1, 1000, 4 * MINUTE, 6 * MINUTE, DAY, 2 * DAY]))
    def time_passes(self, span: int) -> None:
        self.later(span)

    @rule(number=who, error=errors)
    def clock_jumps(self, number: int, error: int) -> None:
        self.phone(number).error = error

    @rule()
    def server_restarts(self) -> None:
        self.book.close()
        self.book = self.opened()

    @rule()
    def copy_the_book(self) -> None:
        self.copy = self.folder / "copy.db"
        with (
            closing(sqlite3.connect(self.book.place.file)) as book,
            closing(sqlite3.connect(self.copy)) as copy,
        ):
            book.backup(copy)

    @precondition(lambda self: self.copy)
    @rule()
    def restore_the_copy(self) -> None:
        assert self.copy
        self.book.close()
        shutil.copyfile(self.copy, self.book.place.file)
        self.book = self.opened()
        self.was_restored = True
        self.log = self.rows()
        self.later()

    @rule(number=who, most=few)
    def cut_off_while_all_is_to_be_sent_again(self, number: int, most: int) -> None:
        """As in `sendMostAgain` (static/js/store/exchange.js), which has a part of it done."""
        for row in self.phone(number).in_state("sent")[:most]:
            row["state"] = "unsent"

    # --- what must hold

    def rows(self) -> list[tuple[Any, ...]]:
        with closing(sqlite3.connect(self.book.place.file)) as db:
            return db.execute("SELECT * FROM change ORDER BY seq").fetchall()

    @invariant()
    def the_log_only_grows(self) -> None:
        if hasattr(self, "book"):
            rows = self.rows()
            assert rows[: len(self.log)] == self.log
            self.log = rows

    @rule()
    def everything_meets(self) -> None:
        self.full_exchange()
        for phone in self.phones:
            for row in phone.in_state("refused"):
                place = (row["kind"], row["record"], row["field"])
                self.write(phone, place, self.new_words())
        self.full_exchange()
        self.the_log_is_complete()
        self.all_agree()
        self.no_text_is_lost()
        self.rebuilding_changes_nothing()

    def full_exchange(self) -> None:
        """Until a whole round has brought nobody anything."""
        for _ in range(6):
            moved = False
            for phone in self.phones:
                more = True
                while more:
                    answer = self.deliver(self.ask(phone, 200), 50)
                    self.take(phone, answer)
                    more = answer["more"] or bool(phone.in_state("unsent"))
                    moved = moved or bool(answer["changes"]) or bool(answer["taken"])
            if not moved:
                return
        raise AssertionError("the phones and the book do not come to rest")

    def the_log_is_complete(self) -> None:
        logged = [row[1] for row in self.rows()]
        kept_back = {
            row["id"]
            for phone in self.phones
            for row in phone.changes.values()
            if row["state"] in ("refused", "mended")
        }
        assert len(logged) == len(set(logged))
        assert set(logged) | kept_back == set(self.made)
        assert not {key for key in set(logged) & kept_back if not self.may_be_both(self.made[key])}
        for phone in self.phones:
            assert not phone.in_state("unsent")

    def may_be_both(self, _: Change) -> bool:
        """Whether a change may be in the log though its phone was told that it is refused."""
        return False

    def all_agree(self) -> None:
        apart = {
            (found["kind"], found["record"], found["field"]): found["texts"]
            for found in self.book.texts_apart()
        }
        for place in PLACES:
            kind, record, name = place
            values = self.book.records(kind, with_deleted=True).get(record, {})
            for phone in self.phones:
                assert phone.shown(place) == values.get(name), place
                others = [] if values.get("deleted") else list(phone.apart(place).values())
                texts = [phone.shown(place), *others] if others else []
                assert texts == apart.get(place, []), place

    def no_text_is_lost(self) -> None:
        logged = {row[1] for row in self.rows()}
        phone = self.phones[0]
        replaced = {old for key, (_, known) in self.texts.items() if key in logged for old in known}
        for key, (place, _) in self.texts.items():
            text = self.made[key]["value"]
            is_there = text == phone.shown(place) or text in phone.apart(place).values()
            assert is_there or key in replaced or key not in logged, text
            # And nothing that was replaced comes back, except where the book itself was older.
            assert not (is_there and key in replaced) or self.was_restored, text

    def rebuilding_changes_nothing(self) -> None:
        before = self.projection()
        self.book.rebuild()
        assert self.projection() == before

    def projection(self) -> dict[str, list[tuple[Any, ...]]]:
        with closing(sqlite3.connect(self.book.place.file)) as db:
            return {"record": db.execute("SELECT * FROM record ORDER BY kind, id").fetchall()}


IS_LONG = os.environ.get("RINGSIDE_LONG") == "1"

LAWS = settings(
    max_examples=2000 if IS_LONG else 60,
    stateful_step_count=80 if IS_LONG else 40,
    deadline=None,
    derandomize=not IS_LONG,
    database=None,
    print_blob=True,
    suppress_health_check=list(HealthCheck),
)

TestConvergence = Kennel.TestCase
TestConvergence.settings = LAWS
