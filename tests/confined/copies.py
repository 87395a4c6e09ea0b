"""Copies of strangers: a restore takes rows that a book could have written, or nothing."""

from __future__ import annotations

import itertools
import resource
import sqlite3
import tempfile
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from ringside.book import clock, keeping
from ringside.book.blobs import Blobs
from ringside.book.place import Place
from ringside.book.store import Book, BookError
from tests import pictures
from tests.confined import MB, few
from tests.unit.test_keeping import NOW, change, fill

TABLES = {
    "meta": ["key", "value"],
    "change": ["seq", "id", "kind", "record", "field", "value", "stamp", "raw", "base", "device",
               "received"],
    "contested": ["key", "id", "content", "received"],
    "device": ["id", "name", "role", "token", "key", "paired", "seen", "revoked"],
    "blob": ["sha256", "bytes", "received"],
    "record": ["kind", "id", "about", "moment", "deleted", "apart", "cells"],
}  # fmt: skip
ENDLESS = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n)"
SLOW = f"({ENDLESS} SELECT count(*) FROM n)"
WRITES = "INSERT INTO meta VALUES ('planted', 'by a trigger')"

# Anything may stand where a value is looked for.
ODD = [
    "NULL", "''", "-1", "0", "9e99", "1e400", "9223372036854775807", "x'00ff'",
    "char(0)", "'a' || char(0)", "zeroblob(300000000)", "hex(zeroblob(15000000))",
    "'[' || replace(hex(zeroblob(500000)), '0', '[')",
    "'9' || replace(hex(zeroblob(400000)), '0', '9')", "'[1e999]'", "'NaN'", "'{\"a\":1}'",
    "'00000000-0000-7000-8000-000000000000'", "'__proto__'", "'\ud7ff\U0001f600'", "char(55296)",
    "cast(x'eda080' AS TEXT)", "cast(x'ff' AS TEXT)", "'../x'", "' '", "'1'", "'true'", "'deleted'",
]  # fmt: skip

table = st.sampled_from(sorted(TABLES))
some_rows = st.sampled_from(["", " WHERE rowid = 1", " WHERE rowid % 7 = 3"])
odd_value = table.flatmap(
    lambda name: st.builds(
        lambda column, value, which: f'UPDATE OR IGNORE "{name}" SET "{column}" = {value}{which}',
        st.sampled_from(TABLES[name]),
        st.sampled_from(ODD),
        some_rows,
    )
)
trigger = st.builds(
    lambda name, when, act, does: (
        f'CREATE TRIGGER t_{name}_{when}_{act} {when} {act} ON "{name}" BEGIN {does}; END'
    ),
    table,
    st.sampled_from(["BEFORE", "AFTER"]),
    st.sampled_from(["INSERT", "UPDATE", "DELETE"]),
    st.sampled_from([WRITES, "DELETE FROM change", f"SELECT {SLOW}", "SELECT RAISE(ABORT, 'no')"]),
)
view = table.flatmap(
    lambda name: st.sampled_from([
        f"{ENDLESS} SELECT i AS {', i AS '.join(TABLES[name])} FROM n",
        f"SELECT zeroblob(900000000) AS {', 1 AS '.join(TABLES[name])}",
        f'SELECT * FROM "old_{name}"',
    ]).map(
        lambda made: f'ALTER TABLE "{name}" RENAME TO "old_{name}";CREATE VIEW "{name}" AS {made}'
    )
)  # fmt: skip
computed = st.builds(
    lambda name, makes: makes.format(name),
    table,
    st.sampled_from(
        [
            'ALTER TABLE "{0}" ADD COLUMN more AS (zeroblob(900000000))',
            'CREATE INDEX "of_{0}" ON "{0}" (length(hex(zeroblob(1000))))',
            'CREATE INDEX "part_of_{0}" ON "{0}" (rowid) WHERE abs(random()) > 7',
        ]
    ),
)
others = st.sampled_from([
    "CREATE TABLE more AS SELECT * FROM change", "DROP TABLE record", "DROP TABLE device",
    "DROP TABLE contested", "DROP TABLE meta", "ALTER TABLE change DROP COLUMN base",
    "ALTER TABLE change RENAME COLUMN value TO valeu", "ALTER TABLE meta ADD COLUMN value2",
    "CREATE VIRTUAL TABLE v USING fts5(x)", "PRAGMA user_version = 77",
    "DELETE FROM change", "DELETE FROM meta WHERE key = 'id'",
    f"INSERT OR IGNORE INTO meta {ENDLESS} SELECT 'key' || i, i FROM n LIMIT 200000",
    "PRAGMA writable_schema = on;UPDATE sqlite_master SET sql = replace(sql, 'TEXT', 'BLOB CHECK "
    "(length(hex(zeroblob(400000000))))')",
    "PRAGMA writable_schema = on;UPDATE sqlite_master SET rootpage = 2",
    "PRAGMA writable_schema = on;UPDATE sqlite_master SET sql = 'CREATE TABLE x('",
])  # fmt: skip
spoiling = st.lists(odd_value | trigger | view | computed | others, min_size=1, max_size=4)


def made(folder: Path) -> tuple[Place, Path]:
    """Return a book of some rows, and a copy of it."""
    place = Place(folder / "data")
    fill(keeping.open_book(place), dogs=8)
    photographed(keeping.open_book(place), 2, 2_000)
    return place, keeping.backup(place, folder / "copy.db")


def photographed(book: Book, photos: int, size: int) -> None:
    """Keep so many photos of that size (bytes)."""
    with closing(book), book.session():
        for number in range(photos):
            data = pictures.photo(number, size)
            Blobs(book).put((pictures.name(data), data, clock.wall()))


def schema(place: Place) -> set[Any]:
    with closing(sqlite3.connect(place.file)) as db:
        return set(db.execute("SELECT type, name, tbl_name, sql FROM sqlite_master"))


with tempfile.TemporaryDirectory() as _name:
    SOUND, _copy = made(Path(_name))
    OURS, WHOLE = schema(SOUND), _copy.read_bytes()


def restored(copy: Path) -> None:
    """Restore from `copy` where no book is: a fresh book of rows, or no book."""
    place = Place(copy.parent / "restored")
    refused = ""
    try:
        keeping.restore(place, copy)
    except BookError as error:
        refused = str(error)
    if refused:
        assert len(refused) < 2000
        assert not place.file.exists()
        return
    assert schema(place) == OURS
    with closing(sqlite3.connect(place.file)) as db:
        assert not db.execute("SELECT 1 FROM meta WHERE key = 'planted'").fetchall()
        assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    keeping.export(place, copy.parent / "out.json")
    keeping.import_(Place(copy.parent / "again"), copy.parent / "out.json")


@few
@given(spoiling)
def any_rows_and_any_schema(statements: list[str]) -> None:
    with tempfile.TemporaryDirectory() as name:
        copy = Path(name, "copy.db")
        copy.write_bytes(WHOLE)
        with closing(sqlite3.connect(copy, isolation_level=None)) as db:
            for statement in statements:
                steps = itertools.count()
                db.set_progress_handler(lambda steps=steps: next(steps) > 500, 10_000)
                with suppress(sqlite3.Error):
                    db.executescript(statement)
        restored(copy)


@few
@given(st.lists(st.tuples(st.integers(0, len(WHOLE) - 1), st.binary(min_size=1, max_size=64))))
def any_bytes(spoilt: list[tuple[int, bytes]]) -> None:
    content = bytearray(WHOLE)
    for at, other in spoilt:
        content[at : at + len(other)] = other
    with tempfile.TemporaryDirectory() as name:
        copy = Path(name, "copy.db")
        copy.write_bytes(content)
        restored(copy)


def grown(book: Book, notes: int) -> None:
    """Write so many notes as long as notes may be."""
    for number in range(notes):
        with book.session():
            text = f"{number} " + "x" * 60_000
            book.append([change(text, NOW + number, kind="note", field="text")], NOW + number)
    book.close()


def longer_than_what_is_read_at_once() -> None:
    """A restore takes no more memory for a hundred megabytes more."""
    most = []
    for notes in (150, 1_900):
        with tempfile.TemporaryDirectory() as name:
            place = Place(Path(name, "data"))
            grown(keeping.open_book(place), notes)
            copy = keeping.backup(place, Path(name, "copy.db"))
            assert copy.stat().st_size > notes * 60_000
            keeping.restore(Place(Path(name, "restored")), copy)
        most.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024)
    assert most[1] - most[0] < 30 * MB, most


def more_photos_than_the_memory_holds() -> None:
    """Nothing that is done with a book takes more memory for a hundred megabytes of photos."""
    most = []
    for photos in (12, 90):
        with tempfile.TemporaryDirectory() as name:
            place, out = Place(Path(name, "data")), Path(name, "out.json")
            photographed(keeping.open_book(place), photos, 1_400_000)
            copy = keeping.backup(place, Path(name, "copy.db"))
            keeping.restore(Place(Path(name, "restored")), copy)
            keeping.export(place, out)
            keeping.import_(Place(Path(name, "again")), out)
        most.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024)
    assert most[1] - most[0] < 20 * MB, most
