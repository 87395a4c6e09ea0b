"""Photos in copies, restores, exports and imports, of both databases; what is wrong is left out."""

from __future__ import annotations

import base64
import json
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import uuid6

from ringside import cli
from ringside.book import clock, keeping
from ringside.book.blobs import MOST_BYTES, Blobs
from ringside.book.keeping import open_book
from ringside.book.keeping.checks import MOST_LENGTH
from ringside.book.place import Place
from ringside.book.store import Book
from tests import pictures
from tests.unit.test_keeping import fill

PHOTOS = {pictures.name(data): data for data in map(pictures.photo, range(3))}
CAME = 1_760_000_000_000

Stored = dict[str, tuple[bytes, int]]


def put(book: Book) -> None:
    """Keep the photos, each with its record."""
    with book.session():
        rows = [{"sha256": name, "copy": True} for name in PHOTOS]
        assert not book.write_down("photo", rows, clock.wall()).refused
        Blobs(book).put(*((name, data, CAME) for name, data in PHOTOS.items()))
    book.close()


@pytest.fixture
def place(tmp_path: Path, new_database: Callable[[], str]) -> Place:
    """A book with photos, closed, in a file or in a database."""
    place = Place(tmp_path / "data", new_database())
    fill(open_book(place), dogs=4)
    put(open_book(place))
    return place


def stored(place: Place) -> Stored:
    with closing(open_book(place)) as book, book.session(), book.database.snapshot():
        return {name: (data, came) for name, data, came in Blobs(book).each()}


WHOLE: Stored = {name: (data, CAME) for name, data in PHOTOS.items()}


def test_a_copy_has_them_and_brings_them_back(place: Place, tmp_path: Path) -> None:
    copy = keeping.backup(place)
    assert keeping.photos_in(copy) == 3
    assert stored(Place.of_file(copy)) == WHOLE
    with closing(open_book(place)) as book, book.session(), book.writing():
        book.rows("DELETE FROM blob")
    done = keeping.restore(place, copy)
    assert (done.photos.taken, done.photos.left_out) == (3, [])
    assert stored(place) == WHOLE
    assert done.aside
    assert keeping.photos_in(done.aside) == 0
    elsewhere = Place(tmp_path / "elsewhere")
    keeping.restore(elsewhere, copy)
    assert stored(elsewhere) == WHOLE


def test_what_stood_here_is_set_aside_with_its_photos(place: Place, tmp_path: Path) -> None:
    empty = Place(tmp_path / "empty")
    with closing(open_book(empty)) as book, book.session():
        book.write_down("dog", [{"name": "Bramble"}], CAME)
    done = keeping.restore(place, keeping.backup(empty))
    assert stored(place) == {}
    assert done.aside
    assert stored(Place.of_file(done.aside)) == WHOLE


def test_the_daily_copy_has_them(place: Place) -> None:
    copy = keeping.daily(place, date(2026, 11, 25))
    assert copy
    assert stored(Place.of_file(copy)) == WHOLE


def test_an_export_has_them_and_an_import_takes_them_once(place: Place, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    assert keeping.export(place, target).photos == 3
    assert json.loads(target.read_text(encoding="utf-8"))["format"] == 2
    new = Place(tmp_path / "new")
    for taken in (3, 0):
        assert keeping.import_(new, target).photos.taken == taken
        assert stored(new) == WHOLE
    again = tmp_path / "again.json"
    keeping.export(new, again)
    assert again.read_bytes() == target.read_bytes()


def test_an_import_goes_into_a_database_too(tmp_path: Path, new_database: Any) -> None:
    old, new = Place(tmp_path / "old"), Place(tmp_path / "new", new_database())
    put(open_book(old))
    keeping.export(old, tmp_path / "all.json")
    assert keeping.import_(new, tmp_path / "all.json").photos.taken == 3
    assert stored(new) == WHOLE


def test_an_export_without_photos_is_one_that_earlier_versions_take_in(tmp_path: Path) -> None:
    place = Place(tmp_path / "data")
    fill(open_book(place), dogs=4)
    keeping.export(place, tmp_path / "all.json")
    told = json.loads((tmp_path / "all.json").read_text(encoding="utf-8"))
    assert told["format"] == 1
    assert "photos" not in told


# --- what is wrong is left out, and named


GOOD, *_ = PHOTOS
NOTED = pictures.jpeg(exif=pictures.exif())


def wrong() -> Iterator[tuple[Any, Any, Any, str]]:
    """Rows that no book of ours wrote, and what is said of each."""
    yield "0" * 64, PHOTOS[GOOD], CAME, f"{'0' * 64}: it is not the one of this name"
    yield pictures.name(NOTED), NOTED, CAME, "it holds data beside its pixels (APP1)"
    yield pictures.name(b"x"), b"x", CAME, "it is not a JPEG"
    yield pictures.name(b""), b"", CAME, "it is not a JPEG"
    yield pictures.name(b"y"), "y", CAME, "it is not the one of this name"
    long = bytes(MOST_BYTES + 1)
    yield pictures.name(long), long, CAME, "it is not the one of this name"
    longer = bytes(MOST_LENGTH + 1)
    yield pictures.name(longer), longer, CAME, "it is not the one of this name"
    for name in ("../x", 7, b"x", "x" * 64, "\ud7ff" * 64, "f" * 3_000_000):
        yield name, PHOTOS[GOOD], CAME, "one without a name: it is not the one"


def test_a_restore_leaves_out_what_no_book_wrote(tmp_path: Path) -> None:
    place = Place(tmp_path / "data")
    put(open_book(place))
    copy = keeping.backup(place)
    rows = list(wrong())
    with closing(sqlite3.connect(copy)) as db:
        db.execute("DROP TABLE blob")
        db.execute("CREATE TABLE blob (sha256, bytes, received)")
        db.executemany("INSERT INTO blob VALUES (?, ?, ?)", [row[:3] for row in rows])
        for came in ("never", -1, 2**62):
            for name, data in PHOTOS.items():  # twice and more
                db.execute("INSERT INTO blob VALUES (?, ?, ?)", (name, data, came))
        db.commit()
    before = clock.wall()
    done = keeping.restore(place, copy)
    assert done.photos.taken == 3
    assert len(done.photos.left_out) == len(rows)
    for told, (*_, words) in zip(done.photos.left_out, rows, strict=True):
        assert words in told
    found = stored(place)
    assert {name: data for name, (data, _) in found.items()} == PHOTOS
    assert all(before <= came <= clock.wall() for _, came in found.values())
    with closing(sqlite3.connect(place.file)) as db:
        (sql,) = db.execute("SELECT sql FROM sqlite_master WHERE name = 'blob'").fetchone()
    assert "PRIMARY KEY" in sql, "of a copy rows are taken, never its tables"


def test_an_import_leaves_out_what_no_book_wrote(tmp_path: Path) -> None:
    place, target = Place(tmp_path / "data"), tmp_path / "all.json"
    put(open_book(place))
    keeping.export(place, target)
    told = json.loads(target.read_text(encoding="utf-8"))
    noted = base64.b64encode(NOTED).decode()
    told["photos"][0]["jpeg"] = told["photos"][1]["jpeg"]
    told["photos"][1]["jpeg"] = "no base64"
    told["photos"].append({"sha256": pictures.name(NOTED), "received": CAME, "jpeg": noted})
    target.write_text(json.dumps(told), encoding="utf-8")
    done = keeping.import_(Place(tmp_path / "new"), target)
    assert done.photos.taken == 1
    assert [words.partition(": ")[0] for words in done.photos.left_out] == [
        told["photos"][0]["sha256"],
        told["photos"][1]["sha256"],
        pictures.name(NOTED),
    ]
    assert len(stored(Place(tmp_path / "new"))) == 1


def test_of_very_many_few_are_named(tmp_path: Path) -> None:
    place = Place(tmp_path / "data")
    put(open_book(place))
    copy = keeping.backup(place)
    with closing(sqlite3.connect(copy)) as db:
        db.executemany(
            "INSERT INTO blob VALUES (?, x'00', 1)", [(f"{number:064x}",) for number in range(500)]
        )
        db.commit()
    assert len(keeping.restore(place, copy).photos.left_out) == 21


def test_the_commands_tell_of_them(
    place: Place, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    where = ["--data", str(place.data), *(["--database", place.url] if place.url else [])]
    copy, whole = str(tmp_path / "c.db"), str(tmp_path / "all.json")
    assert cli.main(["backup", copy, *where]) == 0
    assert cli.main(["export", whole, *where]) == 0
    with closing(sqlite3.connect(copy)) as db:
        db.execute("UPDATE blob SET bytes = x'ff' WHERE sha256 = ?", (GOOD,))
        db.commit()
    assert cli.main(["restore", copy, *where]) == 0
    assert cli.main(["import", whole, *where]) == 0
    said = capsys.readouterr().out
    for words in ("Photos copied with it: 3", "Photos in it: 3", "Photos put back: 2",
                  f"Left out; {copy} still holds them:\n  {GOOD}: it is not the one of this name",
                  "Photos imported: 1"):  # fmt: skip
        assert words in said
    assert stored(place) == WHOLE


def test_the_way_back_tells_of_them(tmp_path: Path) -> None:
    place = Place(tmp_path)
    put(open_book(place))
    keeping.backup(place)
    place.file.unlink()
    with pytest.raises(keeping.ways_back.BookError, match=r"changes and 3 photos\. To put"):
        open_book(place)


def test_a_name_is_kept_once(tmp_path: Path) -> None:
    with closing(open_book(Place(tmp_path))) as book, book.session():
        data = PHOTOS[GOOD]
        for came in (CAME, CAME + 1):
            Blobs(book).put((GOOD, data, came))
        assert list(Blobs(book).each()) == [(GOOD, data, CAME)]
        assert Blobs(book).get(str(uuid6.uuid7())) is None
