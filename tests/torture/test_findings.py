"""What the torture has found, in its smallest form."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from ringside.book.keeping import open_book
from ringside.book.place import Place as BookPlace
from ringside.book.store import Book
from ringside.web.sync import SyncRequest
from tests.property.phone import Phone, Place
from tests.torture.clients import Client
from tests.torture.faults import DAY, OWN
from tests.torture.journal import Ledger
from tests.torture.ordeal import Ordeal

NAME: Place = ("dog", "0d000000-0000-7000-8000-000000000001", "name")
NOW = 1_760_000_000_000


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    book = open_book(BookPlace(tmp_path))
    yield book
    book.close()


def sent(book: Book, phone: Phone, now: int) -> dict[str, Any]:
    """What the book answers to all that waits on a phone, which has not heard it yet."""
    asked = phone.outgoing(200)
    SyncRequest.model_validate(asked)
    with book.session():
        receipt = book.append(asked["changes"], now)
    return {**vars(receipt), "now": now, "cursor": "", "more": False, "anew": False, "changes": []}


def test_a_stamp_of_the_book_is_never_one_that_the_phone_gives_meanwhile(book: Book) -> None:
    """The server's clock was a day fast. Right again, it stamps anew what phones send, counting on
    from its newest stamp as they do. Else the phone would keep two changes under one stamp, and
    lose the one that nobody acknowledged."""
    one, other = Phone(DAY), Phone(DAY)
    other.clock = one.clock = f"{NOW + DAY:012x}-0010-{one.device[-12:]}"
    other.write(OWN, "as far ahead", NOW)
    sent(book, other, NOW + DAY)
    one.write(NAME, "Juniper", NOW - 1)
    answer = sent(book, one, NOW)
    meanwhile = one.write(OWN, "while the answer was on its way", NOW - 1)
    assert meanwhile
    one.incoming(answer, NOW)
    assert [row["id"] for row in one.in_state("unsent")] == [meanwhile["id"]]


def test_a_stamp_names_one_change(book: Book) -> None:
    """A phone restored from a backup gives a stamp again that it gave before."""
    phone = Phone(0)
    twin = copy.deepcopy(phone)
    for each, name in ((phone, "Juniper"), (twin, "Sorrel")):
        each.write(NAME, name, NOW)
        sent(book, each, NOW)
    with book.session():
        stamps = [change["stamp"] for change in book.page("").changes]
    assert len(set(stamps)) == 2


def test_a_phone_restored_from_a_backup_is_told_its_own_changes(tmp_path: Path) -> None:
    ordeal = Ordeal(tmp_path, seed=1, phones=1)
    try:
        (client,) = ordeal.clients
        _write_and_sync(client)
        kept = client.copy_storage()
        _write_and_sync(client)
        client.restore_storage(kept)
        client.sync_to_the_end()
        ordeal.hosts[0].server.stop()
        assert Ledger.of(ordeal.world).problems(ordeal.accounts()) == []
    finally:
        ordeal.close()


def _write_and_sync(client: Client) -> None:
    client.write_at(OWN)
    client.sync_to_the_end()
