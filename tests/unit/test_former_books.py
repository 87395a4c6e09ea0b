"""Books as former versions wrote them: opened by this one, with all that was in them.

tests/books holds, for each format that was ever in use, a book in a file, the same as pg_dump
writes it, and what that version itself showed of it.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing, nullcontext
from pathlib import Path
from typing import Any

import psycopg
import pytest

from ringside.book import keeping
from ringside.book.devices import Devices
from ringside.book.keeping import open_book
from ringside.book.keeping.formats import Progress
from ringside.book.kinds import KINDS, digest
from ringside.book.place import Place
from ringside.book.store import FORMAT, Book, BookUnavailable
from tests.postgres import Cluster

BOOKS = Path(__file__).parent.parent / "books"
FORMATS = sorted(int(path.stem.rpartition("-")[2]) for path in BOOKS.glob("format-*.json"))


def shown(book: Book) -> dict[str, Any]:
    """What the former version wrote down of its book."""
    with book.session():
        records = {kind: book.records(kind, with_deleted=True) for kind in KINDS if kind != "show"}
        return {
            "apart": book.texts_apart(),
            "contested": book.contested(),
            "devices": [[one.id, one.name, one.role] for one in Devices(book).all()],
            "id": book.id,
            "newest": book.newest(),
            "records": records,
        }


def told(number: int) -> Any:
    said = json.loads((BOOKS / f"format-{number}.json").read_text(encoding="utf-8"))
    # Kinds that came later.
    said["records"] = {kind: {} for kind in KINDS if kind != "show"} | said["records"]
    return said


def test_every_format_before_the_present_one_is_kept() -> None:
    assert [*range(1, FORMAT)] == FORMATS


@pytest.mark.parametrize("number", FORMATS)
def test_a_book_in_a_file(number: int, tmp_path: Path) -> None:
    place = Place(tmp_path)
    shutil.copy(BOOKS / f"format-{number}.book", place.file)
    for _ in range(2):
        book = open_book(place)
        assert shown(book) == told(number)
        book.close()
    (copy,) = place.copies.iterdir()
    with closing(sqlite3.connect(copy)) as db:
        said = db.execute("SELECT value FROM meta WHERE key = 'format'").fetchone()
    assert said == (str(number),)
    # It lives on: what a copy of today holds is the same.
    again = Place(tmp_path / "again")
    keeping.restore(again, keeping.backup(place))
    book = open_book(again)
    assert shown(book) == told(number)
    book.close()


@pytest.mark.parametrize("number", FORMATS)
def test_a_dump_of_a_server(number: int, tmp_path: Path, postgres: Cluster) -> None:
    url = postgres.database()
    with psycopg.connect(url, autocommit=True) as db:
        db.execute((BOOKS / f"format-{number}.sql").read_bytes())
    try:
        for _ in range(2):
            book = open_book(Place(tmp_path, url))
            assert shown(book) == told(number)
            book.close()
        with psycopg.connect(url) as db:
            sql = f"SELECT value FROM before_format_{FORMAT}.meta WHERE key = 'format'"
            assert db.execute(sql).fetchone() == (str(number),)
    finally:
        postgres.drop(url)


FEWER = {name: kind for name, kind in KINDS.items() if name != "dog"}


def test_other_declarations_make_the_rows_anew_after_a_copy(
    tmp_path: Path, new_database: Callable[[], str]
) -> None:
    place = Place(tmp_path, new_database())
    book = open_book(place)
    with book.session():
        book.write_down("dog", [{"name": "Juniper"}], 1_760_000_000_000)
        before = book.records("dog")
    book.close()
    heard: list[tuple[int, int]] = []
    older = open_book(place, FEWER, lambda *far: heard.append(far))
    with older.session():
        assert older.meta("kinds") == digest(FEWER)
        assert older.rows("SELECT COUNT(*) FROM record") == [(0,)]
    older.close()
    assert heard == [(1, 1)]
    if not place.url:
        assert len(list(place.copies.iterdir())) == 1
    book = open_book(place)
    with book.session():
        assert book.records("dog") == before
    book.close()


def test_two_versions_do_not_write_into_one_book(
    tmp_path: Path, new_database: Callable[[], str]
) -> None:
    place = Place(tmp_path, new_database())
    before = open_book(place)
    after = open_book(place, FEWER)
    for book, may_write in ((after, True), (before, False)):
        refused = (
            nullcontext() if may_write else pytest.raises(BookUnavailable, match="start it again")
        )
        with book.session(), refused:
            book.write_down("note", [{"text": "Written"}], 1_760_000_000_000)
        book.close()


def test_a_long_way_is_told_of(capsys: pytest.CaptureFixture[str]) -> None:
    tell = Progress()
    tell(1, 9)
    tell._next = 0
    tell(5, 9)
    tell(6, 9)
    assert capsys.readouterr().err == "ringside: rebuilding the book, 5 of 9 changes\n"
