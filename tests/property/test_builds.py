"""Builds that declare other kinds take turns at the book and on the phones: what one of them does
not know is lost by none, and everything meets once all are of the newest.

The laws and the mishaps are those of `test_convergence`. The older build knows no notes, and no
name of a dog as long as the newer one takes.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule

from ringside.book.kinds import KINDS, Kind
from ringside.book.kinds.fields import Words
from ringside.book.store import BookUnavailable
from tests.property.phone import Change, Phone, Place
from tests.property.test_convergence import LAWS, PLACES, Kennel, errors, who

NEWER = KINDS
OLDER = {name: kind for name, kind in KINDS.items() if name != "note"}
OLDER["dog"] = dataclasses.replace(
    KINDS["dog"], fields={**KINDS["dog"].fields, "name": Words(len("words 9"))}
)


class Builds(Kennel):
    """A kennel in which not everybody has the same build."""

    @initialize(errors=st.lists(errors, min_size=2, max_size=5), older=st.integers(0, 31))
    def begin(self, errors: list[int], older: int) -> None:
        """`older` tells by its bits which phones begin with the older build."""
        super().begin(errors)
        for number, phone in enumerate(self.phones):
            phone.kinds = OLDER if older >> number & 1 else NEWER
        self.once_newer = [phone for phone in self.phones if phone.kinds is NEWER]

    # --- what each build can do

    def write(self, phone: Phone, place: Place, value: Any) -> None:
        """A person can only write what their build has a screen for; and none has ever been that
        lets them write into a note what no book takes."""
        kind = phone.kinds.get(place[0])
        field = kind.fields.get(place[2]) if kind else None
        is_refused = place[0] == "dog" and "\x00" in str(value)
        if field and (is_refused or field.problem(value) is None):
            super().write(phone, place, value)

    def may_be_refused(self, change: Change) -> bool:
        """The older book knows the field and not the value."""
        return super().may_be_refused(change) or not _allows(self.kinds, change)

    def may_be_both(self, change: Change) -> bool:
        """The older book refused it, and a late request brought it to the newer one."""
        return not _allows(OLDER, change)

    # --- builds take turns

    @rule(number=who, is_newer=st.booleans())
    def phone_takes_up_another_build(self, number: int, is_newer: bool) -> None:
        phone = self.phone(number)
        phone.take_up(NEWER if is_newer else OLDER)
        if is_newer:
            self.once_newer.append(phone)

    @rule(is_newer=st.booleans())
    def book_is_served_by_another_build(self, is_newer: bool) -> None:
        """One that goes on serving with the build before writes no more, and gives nothing out."""
        before = self.book
        self.kinds = NEWER if is_newer else OLDER
        self.book = self.opened()
        if self.book.digest != before.digest:
            with before.session(), pytest.raises(BookUnavailable):
                before.write_down("dog", [{"name": "Nobody"}], self.now)
            with before.session(), pytest.raises(BookUnavailable), before.reading():
                pass
        before.close()

    # --- what must hold

    @invariant()
    def the_book_shows_what_its_build_knows(self) -> None:
        if not hasattr(self, "book") or self.kinds is NEWER:
            return
        with self.book.session():
            kinds = {kind for (kind,) in self.book.rows("SELECT DISTINCT kind FROM record")}
            assert kinds <= OLDER.keys()
            names = [dog.get("name") for dog in self.book.records("dog", True).values()]
            allowed = OLDER["dog"].fields["name"]
            assert [allowed.problem(name) for name in names] == [None] * len(names)

    @rule()
    def who_has_the_books_build_shows_what_it_shows(self) -> None:
        """What is not taken up needs no update. A phone that goes back to the older build is left
        out: its newer values stay in its cells."""
        self.full_exchange()
        for phone in self.phones:
            if phone.kinds is self.kinds and (self.kinds is NEWER or phone not in self.once_newer):
                refused = {_place(row) for row in phone.in_state("refused")}
                for kind, record, name in set(PLACES) - refused:
                    values = self.book.records(kind, with_deleted=True).get(record, {})
                    assert phone.shown((kind, record, name)) == values.get(name), (kind, name)

    @rule()
    def everything_meets(self) -> None:
        """Once all are of the newest build, and whatever happened before."""
        self.kinds = NEWER
        self.book.close()
        self.book = self.opened()
        for phone in self.phones:
            phone.take_up(NEWER)
            assert phone.parked == {}
        super().everything_meets()


def _place(change: Change) -> Place:
    return change["kind"], change["record"], change["field"]


def _allows(kinds: Mapping[str, Kind], change: Change) -> bool:
    """Whether a build that knows the field knows the value; what it does not know, it keeps."""
    kind = kinds.get(change["kind"])
    field = kind.fields.get(change["field"]) if kind else None
    return field is None or field.problem(change["value"]) is None


TestBuilds = Builds.TestCase
TestBuilds.settings = LAWS
