"""Two hundred phones at once: no error, no loss. tests/benchmarks/crowd.py tells how fast."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from ringside.book.keeping import open_book
from ringside.book.place import Place
from tests.crowd import EACH, PHONES, ROUNDS, at_once, catch_up, gather, write
from tests.support import Server


@pytest.fixture
def servers(tmp_path: Path, new_database: Callable[[], str]) -> Iterator[list[Server]]:
    """One process on a file, two on PostgreSQL."""
    url = new_database()
    with ExitStack() as stack:
        yield [
            stack.enter_context(
                Server(tmp_path / f"{number}", "serve", arguments=["--database", url])
            )
            for number in range(2 if url else 1)
        ]


def test_two_hundred_phones_sync_at_once(servers: list[Server]) -> None:
    phones = gather(servers)
    at_once(phones, write)
    at_once(phones, catch_up)
    assert [phone.wrong for phone in phones if phone.wrong] == []
    written = {one for phone in phones for one in phone.wrote}
    assert len(written) == PHONES * ROUNDS * EACH
    book = open_book(Place(servers[0].data, servers[0].database))
    with book.session():
        log = [row[0] for row in book.rows("SELECT id FROM change ORDER BY seq")]
    book.close()
    assert len(log) == len(written)
    assert set(log) == written
    for phone in phones:
        assert phone.taken == phone.wrote
        assert set(phone.seen) | set(phone.wrote) == written
        assert len(phone.seen) == len(set(phone.seen)), "nothing is sent twice"
