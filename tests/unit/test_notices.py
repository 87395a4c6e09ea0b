"""What is wrong with a book is said, with what to do: gone, empty, damaged, no room, read-only."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from ringside.app import Settings, create_app
from ringside.book import keeping
from ringside.book.keeping import Notices, notices, open_book
from ringside.book.place import Place
from ringside.book.store import BookError, BookUnavailable
from tests.known import shipped
from tests.support import until
from tests.unit.test_keeping import change, fill, log

TODAY = date(2026, 11, 28)


@pytest.fixture
def place(tmp_path: Path) -> Place:
    place = Place(tmp_path / "data")
    fill(open_book(place))
    return place


def remove(place: Place) -> None:
    for end in ("", "-wal", "-shm"):
        Path(f"{place.file}{end}").unlink(missing_ok=True)


def damage(place: Place) -> None:
    """Spoil a page of changes, as a disk does; the head of the file stays whole."""
    with closing(sqlite3.connect(place.file)) as db:
        db.execute("PRAGMA wal_checkpoint(truncate)")
        size = db.execute("PRAGMA page_size").fetchone()[0]
        page = db.execute("SELECT rootpage FROM sqlite_master WHERE name = 'change'").fetchone()[0]
    with place.file.open("r+b") as file:
        file.seek((page - 1) * size)
        file.write(b"\xff" * 64)


def told(place: Place) -> str:
    book = open_book(place)
    with book.session():
        return "\n".join(Notices(place).at_start(book, TODAY))


@pytest.mark.parametrize("is_emptied", [False, True], ids=["deleted", "of no bytes"])
def test_no_book_is_begun_beside_copies(place: Place, is_emptied: bool) -> None:
    older = keeping.backup(place)
    newest = keeping.backup(place)
    newest.write_bytes(b"no book")
    before = log(place)
    remove(place)
    if is_emptied:
        place.file.touch()
    with pytest.raises(BookError) as caught:
        open_book(place)
    words = str(caught.value)
    assert f"ringside restore {older} --data {place.data}" in words
    assert f"ringside serve --new --data {place.data}" in words
    assert not place.file.exists() or not place.file.stat().st_size
    keeping.restore(place, older)
    assert log(place) == before


def test_a_new_book_is_begun_on_purpose_and_never_over_another(place: Place) -> None:
    keeping.backup(place)
    with pytest.raises(BookError, match="no new one was made; start without --new"):
        open_book(place, begin=keeping.begin_anew)
    remove(place)
    open_book(place, begin=keeping.begin_anew).close()
    assert log(place) == []
    assert "This book is empty, but there are copies of a book" in told(place)
    fill(open_book(place))
    assert told(place) == ""


def test_a_damaged_page_is_told_with_the_newest_good_copy(place: Place) -> None:
    copy = keeping.backup(place)
    damage(place)
    words = told(place)
    assert f"{place.file} is damaged" in words
    assert f"ringside export everything.json --data {place.data}" in words
    assert f"ringside restore {copy} --data {place.data}" in words


def test_the_pages_of_a_big_book_are_looked_at_in_the_background(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(notices, "MOST_AT_START", 0)
    damage(place)
    assert "is damaged" not in told(place)
    found = Notices(place)
    monkeypatch.setattr(keeping.copies, "LOOK_EVERY", 0.01)
    with keeping.kept_daily(place, found):
        until(lambda: "is damaged" in "".join(found._found.values()), "the damage is told")


def test_the_desk_shows_what_is_wrong(place: Place) -> None:
    book = open_book(place)
    found = Notices(place)
    app = create_app(Settings(place.data, 8470, is_open=True), book, shipped(), found)
    client = app.test_client()
    assert 'role="alert"' not in client.get("/desk", headers={"Host": "localhost:8470"}).get_data(
        as_text=True
    )
    found.note("damage", "One page is <gone>.")
    page = client.get("/desk", headers={"Host": "localhost:8470"}).get_data(as_text=True)
    assert "One page is &lt;gone&gt;." in page


def test_little_room_is_told(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    usage = shutil.disk_usage(place.data)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage._replace(free=7 * 1024 * 1024))
    assert "Only 7 MB are left on the disk" in told(place)


def test_a_book_that_goes_while_it_is_served_is_told(place: Place) -> None:
    book = open_book(place)
    found = Notices(place)
    with book.session():
        place.file.unlink()
        assert any("is gone from its folder" in words for words in found.all(book))


FAILURES = {
    "full": ("SQLITE_FULL", "database or disk is full", "The disk is full"),
    "read-only": ("SQLITE_READONLY", "attempt to write a readonly database", "cannot write"),
    "damaged": ("SQLITE_CORRUPT", "database disk image is malformed", "damaged on its disk"),
}


@pytest.mark.parametrize("case", FAILURES)
def test_a_write_that_cannot_be_says_why_and_the_desk_goes_on_saying_it(
    place: Place, case: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    name, words, said = FAILURES[case]
    error = sqlite3.OperationalError(words)
    error.sqlite_errorname = name
    book = open_book(place)

    def fails(*_: Any) -> None:
        raise error

    with monkeypatch.context() as patch:
        patch.setattr(book, "newest", fails)
        with pytest.raises(BookUnavailable, match=said), book.session(), book.writing():
            book.newest()
    with book.session():
        assert any(said in words for words in Notices(place).all(book))
        book.append([change("Rex")], 1_760_000_000_000)
        assert bool(book.trouble) == (case == "damaged")  # other pages may well be whole


def test_drafts_that_were_cut_off_are_cleared_and_one_under_way_is_not(place: Place) -> None:
    keeping.backup(place)
    draft = keeping.files.draft_name(place.copies / "book.db")
    draft.write_bytes(b"half")
    with keeping.locks.serving(place):
        keeping.tidy(place)
        assert draft.exists()
    keeping.tidy(place)
    assert not draft.exists()
