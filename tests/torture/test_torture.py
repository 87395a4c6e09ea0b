"""Short runs of the torture, and proofs that its checks see a loss. For a long run:
python3 tests/run.py --torture."""

from __future__ import annotations

import contextlib
import copy
import sqlite3
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from ringside.book.place import FILE_NAME
from tests.torture import faults, pocket
from tests.torture.journal import Ledger
from tests.torture.ordeal import Ordeal
from tests.torture.tally import Tally
from tests.torture.wire import FAULTS

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="kills as POSIX systems do")

SEED = 1


def unmet(ordeal: Ordeal) -> set[str]:
    """What should have befallen this book and did not."""
    names = set(faults.ALL) | set(FAULTS)
    if ordeal.world.database:
        names -= {"server's disk full", "server's files may not grow"}
    else:
        names -= {"database connections ended"}
    if not ordeal.world.has_own_disk:
        names.discard("server's disk full")
    if sys.platform != "linux":
        names.discard("server's files may not grow")
    return names - set(ordeal.tally.met)


def told(met: Tally) -> str:
    """What a run without a loss met and survived."""
    tally = Tally()
    tally.add(met, all_is_well=True)
    return f"seed {SEED}\n{tally.table()}"


def test_nothing_is_lost(tmp_path: Path, new_database: Callable[[], str]) -> None:
    """In a PostgreSQL database, two servers share the book."""
    database = new_database()
    ordeal = Ordeal(tmp_path, SEED, database=database, hosts=2 if database else 1)
    with contextlib.closing(ordeal):
        ordeal.begin()
        ordeal.everything_befalls()
        assert ordeal.end() == []
    print(told(ordeal.tally))
    assert not unmet(ordeal)


# What befalls the servers while people use the app in browsers.
BESIDE = [
    "network gone",
    "server killed within the writing of a batch",
    "server's files may not grow",
    "server's clock a day fast",
]


def with_browsers(folder: Path) -> Tally:
    """Return what was met while two people used the app, and two more phones the protocol."""
    program = pocket.copy_of_the_program(folder / "program")
    with (
        sync_playwright() as playwright,
        contextlib.closing(Ordeal(folder, SEED, phones=2, cwd=program)) as ordeal,
    ):
        ordeal.hand_out(playwright, folder, 2)
        ordeal.begin()
        ordeal.these_befall([*pocket.ALL, *BESIDE])
        assert ordeal.end() == []
    return ordeal.tally


@pytest.mark.browser
def test_nothing_is_lost_in_browsers(tmp_path: Path) -> None:
    # In a thread of its own: other tests' Playwright may hold this one's event loop.
    with ThreadPoolExecutor(1) as thread:
        tally = thread.submit(with_browsers, tmp_path).result()
    print(told(tally))
    assert pocket.ALL.keys() <= tally.met.keys()


# --- the checks themselves


@pytest.fixture(scope="module")
def lived(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ordeal]:
    """A short life in which nothing went wrong."""
    with contextlib.closing(Ordeal(tmp_path_factory.mktemp("calm"), SEED, phones=3)) as ordeal:
        ordeal.begin()
        faults.until_taken(ordeal)
        assert ordeal.end() == []
        yield ordeal


@pytest.fixture
def calm(lived: Ordeal) -> Iterator[Ordeal]:
    """That life, to be damaged; afterwards it is as it was."""
    book = lived.world.data / FILE_NAME
    kept = book.read_bytes()
    memories = [copy.deepcopy((vars(one.phone), vars(one.journal))) for one in lived.clients]
    yield lived
    book.write_bytes(kept)
    for client, (phone, journal) in zip(lived.clients, memories, strict=True):
        vars(client.phone).update(phone)
        vars(client.journal).update(journal)


def delete_an_acknowledged_change(ordeal: Ordeal) -> None:
    damage(ordeal, "DELETE FROM change WHERE seq = (SELECT MAX(seq) FROM change)")


def enter_one_twice(ordeal: Ordeal) -> None:
    damage(
        ordeal,
        "CREATE TABLE loose AS SELECT * FROM change",
        "INSERT INTO loose SELECT seq + 1000, id, kind, record, field, value, stamp, raw, base, "
        "device, received FROM change WHERE seq = 1",
        "DROP TABLE change",
        "ALTER TABLE loose RENAME TO change",
    )


def alter_one(ordeal: Ordeal) -> None:
    damage(ordeal, """UPDATE change SET value = '"another"' WHERE seq = 1""")


def enter_what_nobody_wrote(ordeal: Ordeal) -> None:
    damage(ordeal, "UPDATE change SET id = '0f000000-0000-7000-8000-000000000001' WHERE seq = 1")


def let_the_records_lag(ordeal: Ordeal) -> None:
    first = "(SELECT MIN(kind) FROM record)"  # which kinds were written is drawn by lot
    damage(ordeal, f"UPDATE record SET cells = '{{}}' WHERE kind = {first}")


def forget_an_index(ordeal: Ordeal) -> None:
    damage(
        ordeal,
        "PRAGMA writable_schema = 1",
        "DELETE FROM sqlite_schema WHERE type = 'index' AND tbl_name = 'attempt'",
    )


def drop_from_an_outbox(ordeal: Ordeal) -> None:
    """Written after the last sync, and gone from the phone."""
    client = ordeal.clients[0]
    key = client.write_at(faults.OWN)
    changes = client.phone.changes
    del changes[next(stamp for stamp, row in changes.items() if row["id"] == key)]


def keep_what_was_acknowledged(ordeal: Ordeal) -> None:
    rows = ordeal.clients[0].phone.in_state("sent")
    rows[0]["state"] = "unsent"


def miss_one_on_the_way(ordeal: Ordeal) -> None:
    theirs = next(iter(ordeal.clients[1].journal.taken))
    ordeal.clients[0].journal.held.discard(theirs)


def show_another_value(ordeal: Ordeal) -> None:
    phone = ordeal.clients[0].phone
    place = next(place for place in phone.cells if place[2] == "name")
    phone.cells[place]["value"] = "another"


def damage(ordeal: Ordeal, *statements: str) -> None:
    with contextlib.closing(sqlite3.connect(ordeal.world.data / FILE_NAME)) as db, db:
        for statement in statements:
            assert db.execute(statement).rowcount != 0


LOSSES: dict[Callable[[Ordeal], None], str] = {
    delete_an_acknowledged_change: "acknowledged and not in the book",
    enter_one_twice: "in the book more than once",
    alter_one: "in the book with other content",
    enter_what_nobody_wrote: "in the book and never written",
    let_the_records_lag: "the book shows",
    forget_an_index: "never used",
    drop_from_an_outbox: "not acknowledged and gone",
    keep_what_was_acknowledged: "waits though acknowledged",
    miss_one_on_the_way: "never received",
    show_another_value: "phone 0 shows",
}


@pytest.mark.parametrize("loss", LOSSES, ids=lambda loss: loss.__name__)
def test_the_checks_see_a_loss(calm: Ordeal, loss: Callable[[Ordeal], None]) -> None:
    loss(calm)
    found = Ledger.of(calm.world).problems(calm.accounts())
    assert any(LOSSES[loss] in line for line in found), found
