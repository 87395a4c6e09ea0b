"""Keeping the book: copies, the way back, older formats, and out and in again as JSON and CSV."""

from __future__ import annotations

import csv
import errno
import itertools
import json
import os
import pkgutil
import random
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, nullcontext, suppress
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import uuid6

from ringside import cli
from ringside.book import changes as rules
from ringside.book import clock, keeping
from ringside.book.devices import HELPER, OWNER, Devices, Holder, Paired
from ringside.book.keeping import open_book
from ringside.book.kinds import KINDS
from ringside.book.place import FILE_NAME, Place
from ringside.book.store import FORMAT, Book, BookError
from ringside.knowledge import load
from ringside.knowledge.own import MOST_OWN_FILES, MOST_OWN_SIZE
from tests.ports import free_port
from tests.support import PATIENCE, ROOT, until

NOW = 1_760_000_000_000
DAY = 86_400_000
TODAY = date(2026, 11, 25)
PHONE, OTHER, LOST = (str(uuid6.uuid7()) for _ in range(3))

Change = dict[str, Any]
Rows = dict[str, list[tuple[Any, ...]]]


def change(value: Any, at: int = NOW, **given: Any) -> Change:
    device = given.get("device", PHONE)
    return {
        "id": str(uuid6.uuid7()),
        "kind": "dog",
        "record": str(uuid6.uuid7()),
        "field": "name",
        "value": value,
        "stamp": f"{at:012x}-0000-{clock.node_of(device)}",
        "base": "",
        "device": device,
        **given,
    }


def fill(book: Book, dogs: int = 40) -> None:
    """Write all that is awkward: stamps out of order and restamped, texts apart, ids doubled."""
    with book.session():
        made = [change(f"Dog {number}", NOW - number) for number in range(dogs)]
        for start in range(0, dogs, 7):
            book.append(made[start : start + 7], NOW + start)
        note = str(uuid6.uuid7())
        text = {"kind": "note", "record": note, "field": "text"}
        ahead = change("from tomorrow", NOW + DAY, **text)
        book.append([ahead], NOW)
        book.append([change("on it", NOW + DAY + 5, base=ahead["stamp"], **text)], NOW + 9)
        book.append([change("apart\nfrom it", NOW + 3, device=OTHER, **text)], NOW + 10)
        book.append([change(["bite", "head"], kind="order", field="stations")], NOW + 11)
        book.append([change(True, NOW + 12, record=made[0]["record"], field="deleted")], NOW + 12)
        book.append([{**made[1], "value": "Another"}], NOW + 13)
        book.write_down("dog", [{"name": "From the desk"}], NOW + 14)
    book.close()


@pytest.fixture
def place(tmp_path: Path) -> Place:
    """A book that is closed."""
    place = Place(tmp_path / "data")
    fill(open_book(place))
    return place


def file_of(book: Place | Path) -> Path:
    """The file of a book at its place, or of a copy."""
    return book.file if isinstance(book, Place) else book


def table(book: Place | Path, sql: str) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(file_of(book))) as db:
        return db.execute(sql).fetchall()


def log(book: Place | Path) -> list[tuple[Any, ...]]:
    return table(book, "SELECT * FROM change ORDER BY seq")


def everything(book: Place | Path) -> Rows:
    """The log, what is projected from it, what is kept apart, and whose book it is."""
    return {
        "change": log(book),
        "contested": table(book, "SELECT id, content, received FROM contested ORDER BY key"),
        "meta": table(book, "SELECT key, value FROM meta WHERE key IN ('id', 'desk', 'format')"),
        "record": table(book, "SELECT * FROM record ORDER BY kind, id"),
    }


def write_more(place: Place, number: int = 1) -> None:
    book = open_book(place)
    with book.session():
        book.append([change(f"More {n}", NOW + 99 + n) for n in range(number)], NOW + 99 + number)
    book.close()


def files(folder: Path) -> set[str]:
    return {entry.relative_to(folder).as_posix() for entry in folder.rglob("*") if entry.is_file()}


def no_drafts(folder: Path) -> bool:
    return not [name for name in files(folder) if "draft" in name]


def mode(book: Place | Path) -> int:
    return file_of(book).stat().st_mode & 0o777


# Own breed files, one of them no TOML and no UTF-8: it is somebody's all the same.
FEN, MOOR, HEATH = b'name = "Fen Hound"\r\n', 'name = "Möör"'.encode(), b"name = \xff\n["
OWN = {"fen-hound.toml": FEN, "moor-hound.toml": MOOR, "heath-hound.toml": HEATH}
OTHER_FEN = b'name = "Fen Hound, as we know it by now"'


def put(place: Place, breeds: dict[str, bytes]) -> None:
    """Have exactly these own breed files beside the book, and none from before."""
    folder = place.own_breeds
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for name, content in breeds.items():
        (folder / name).write_bytes(content)


def own(place: Place) -> dict[str, bytes]:
    """The own breed files beside the book, as the loader would find them."""
    return {file.name: file.read_bytes() for file in place.own_breeds.glob("*.toml")}


def put_by(place: Place) -> list[bytes]:
    """What is in those that were replaced."""
    return [file.read_bytes() for file in place.own_breeds.glob("*.old")]


def tables(book: Place | Path) -> set[str]:
    return {name for (name,) in table(book, "SELECT name FROM sqlite_master")}


posix = pytest.mark.skipif(os.name == "nt", reason="Windows has other permissions")


# --- backup


def test_a_backup_is_the_same_book_in_one_private_file(place: Place) -> None:
    before = everything(place)
    copy = keeping.backup(place)
    assert copy.read_bytes()[18:20] == b"\1\1", "it can be read where nothing can be written"
    assert copy.parent == place.copies
    assert re.fullmatch(r"book-\d{8}-\d{6}\.db", copy.name)
    assert everything(copy) == everything(place) == before
    assert table(copy, "SELECT * FROM meta") == table(place, "SELECT * FROM meta")
    assert files(copy.parent) == {copy.name}
    if os.name != "nt":
        assert (mode(copy), mode(copy.parent)) == (0o600, 0o700)


def test_two_backups_in_one_second_are_two_files(place: Place) -> None:
    assert len({keeping.backup(place) for _ in range(3)}) == 3


def test_a_backup_goes_where_it_is_told_and_over_nothing(place: Place, tmp_path: Path) -> None:
    target = tmp_path / "mine #1?.db"
    assert keeping.backup(place, target) == target
    assert log(target) == log(place)
    before = target.read_bytes()
    with pytest.raises(BookError, match="already; choose another name"):
        keeping.backup(place, target)
    assert target.read_bytes() == before
    with pytest.raises(BookError, match="The server removes"):
        keeping.backup(place, place.copies / "daily-20260101.db")
    with pytest.raises(BookError, match="There is no book in"):
        keeping.backup(Place(tmp_path / "none"))
    with pytest.raises(BookError, match="The copy did not work"):
        keeping.backup(place, tmp_path / "no folder" / "mine.db")


def test_backups_while_a_writer_writes(place: Place) -> None:
    """Each copy is the book as it was at one moment, and the writer is never held up."""
    stop = threading.Event()
    failures: list[BaseException] = []

    def write() -> None:
        book = open_book(place)
        number = 0
        try:
            while not stop.is_set():
                with book.session():
                    number += 1
                    pair = [change(f"pair {number}", NOW + number) for _ in range(2)]
                    book.append(pair, NOW + number)
        except BaseException as error:
            failures.append(error)
        finally:
            book.close()

    writer = threading.Thread(target=write)
    writer.start()
    try:
        copies = [keeping.backup(place) for _ in range(6)]
    finally:
        stop.set()
        writer.join()
    assert failures == []
    whole = log(place)
    lengths = []
    for copy in copies:
        rows = log(copy)
        assert rows == whole[: len(rows)]
        assert sum("pair" in row[5] for row in rows) % 2 == 0, "no batch is halved"
        lengths.append(len(rows))
    assert lengths == sorted(lengths)
    assert lengths[-1] > lengths[0], "it wrote meanwhile"


def test_a_book_whose_records_do_not_match_its_changes_is_not_copied(place: Place) -> None:
    with closing(sqlite3.connect(place.file)) as db:
        db.execute("UPDATE record SET cells = replace(cells, 'Dog 5', 'Nobody wrote this')")
        db.commit()
    with pytest.raises(BookError, match=r"do not match its changes.*ringside export"):
        keeping.backup(place)
    assert files(place.copies) == set()


@contextmanager
def room(size: int) -> Iterator[None]:
    """Let no file grow beyond `size` bytes: the system's own refusal, wherever it strikes."""
    resource = pytest.importorskip("resource")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    before = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        signal.signal(signal.SIGXFSZ, before)


@posix
def test_a_disk_that_fills_up_at_any_point_of_a_backup(place: Place) -> None:
    put(place, {"fen-hound.toml": b"#" * 100_000})
    whole = place.file.stat().st_size + 100_000
    failed = 0
    said: set[str] = set()
    for size in range(0, whole + 1, 16_384):
        try:
            with room(size):
                copy = keeping.backup(place)
        except BookError as error:
            failed += 1
            said.add(str(error))
            assert files(place.copies) == set()
        else:
            assert everything(copy) == everything(place)
            assert keeping.breeds_in(copy) == own(place)
            copy.unlink()
        assert no_drafts(place.data)
    assert failed >= whole // 16_384 - 1
    assert all("The copy did not work" in text for text in said)
    assert everything(keeping.backup(place)) == everything(place)


@posix
@pytest.mark.parametrize("greatest", ["in the copy", "in the folder"])
def test_a_disk_that_fills_up_at_any_point_of_a_restore(place: Place, greatest: str) -> None:
    great = b"#" * MOST_OWN_SIZE
    here = great if greatest == "in the folder" else OTHER_FEN
    put(place, {"fen-hound.toml": FEN, "moor-hound.toml": great if here != great else MOOR})
    copy = keeping.backup(place)
    whole = copy.stat().st_size
    restored = everything(copy), own(place)
    write_more(place)
    put(place, {"fen-hound.toml": here})
    before = everything(place), own(place)
    failed = 0
    for size in range(0, whole + MOST_OWN_SIZE, 16_384):
        try:
            with room(size):
                keeping.restore(place, copy)
        except BookError:
            failed += 1
            assert (everything(place), own(place)) == before
            assert put_by(place) == []
        else:
            assert (everything(place), own(place)) == restored
            break
        assert no_drafts(place.data)
    assert failed >= whole // 16_384 - 1
    keeping.restore(place, copy)
    assert (everything(place), own(place)) == restored
    assert put_by(place) == [here]


# --- restore


def test_a_restore_brings_the_copy_back_and_keeps_the_other(place: Place) -> None:
    copy = keeping.backup(place)
    before = copy.read_bytes()
    write_more(place, 3)
    later = everything(place)
    done = keeping.restore(place, copy)
    assert done.aside
    assert done.aside.parent == place.copies
    assert "before-restore" in done.aside.name
    assert everything(done.aside) == later
    assert everything(place) == everything(copy)
    assert copy.read_bytes() == before
    assert not done.is_rebuilt
    assert {FILE_NAME} == {name for name in files(place.data) if name.startswith("book.db")}
    if os.name != "nt":
        assert (mode(place), mode(done.aside)) == (0o600, 0o600)
    back = keeping.restore(place, done.aside)
    assert back.aside != done.aside
    assert everything(place) == later
    assert no_drafts(place.data)


def test_a_restore_where_no_book_is(place: Place, tmp_path: Path) -> None:
    new = Place(tmp_path / "new")
    done = keeping.restore(new, place.file)
    assert done == keeping.Restored(None, is_rebuilt=False, has_devices_of_copy=True)
    assert everything(new) == everything(place)
    if os.name != "nt":
        assert (mode(new), mode(new.data)) == (0o600, 0o700)


def test_a_restored_book_goes_on(place: Place) -> None:
    copy = keeping.backup(place)
    write_more(place)
    book = open_book(place)
    with book.session():
        cursor = book.page("").cursor
    book.close()
    keeping.restore(place, copy)
    book = open_book(place)
    with book.session():
        assert book.page(cursor).anew, "a phone that was further hears of it"
        book.append([change("Next")], NOW)
        book.append([change("Next")], NOW)
    book.close()


def test_a_restore_from_a_copy_with_its_log_beside_it(place: Place, tmp_path: Path) -> None:
    """Somebody copied the files of a book that was open, all of them."""
    book = open_book(place)
    with book.session():
        book.append([change("In the write-ahead log alone")], NOW)
        folder = tmp_path / "by hand"
        folder.mkdir()
        for file in place.data.glob("book.db*"):
            shutil.copyfile(file, folder / file.name)
    book.close()
    assert (folder / "book.db-wal").stat().st_size
    new = Place(tmp_path / "new")
    keeping.restore(new, folder / FILE_NAME)
    assert everything(new) == everything(place)


def make_newer(file: Path) -> None:
    with closing(sqlite3.connect(file)) as db:
        db.execute("UPDATE meta SET value = ? WHERE key = 'format'", (str(FORMAT + 1),))
        db.commit()


def make_foreign(file: Path) -> None:
    file.unlink()
    with closing(sqlite3.connect(file)) as db:
        db.execute("CREATE TABLE meta (name TEXT)")
        db.execute("CREATE TABLE change (seq INTEGER)")


def make_empty(file: Path) -> None:
    file.write_bytes(b"")


def make_text(file: Path) -> None:
    file.write_text("these are not the bytes of a book" * 200, encoding="utf-8")


def cut_short(file: Path) -> None:
    file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])


def spoil_the_end(file: Path) -> None:
    whole = file.read_bytes()
    file.write_bytes(whole[:-9000] + b"\xa5" * 9000)


def spoil_the_start(file: Path) -> None:
    whole = file.read_bytes()
    file.write_bytes(whole[:16] + b"\xff" * 5000 + whole[5016:])


def spoil_an_index(file: Path) -> None:
    """All records and changes can be read; only the check of every page tells."""
    with closing(sqlite3.connect(file)) as db:
        where = "WHERE tbl_name = 'contested' AND type = 'index'"
        (index,) = db.execute(f"SELECT * FROM sqlite_master {where}").fetchall()
        db.execute("PRAGMA writable_schema = on")
        db.execute(f"DELETE FROM sqlite_master {where}")
        db.commit()
    with closing(sqlite3.connect(file)) as db:
        db.execute("UPDATE contested SET id = 'other'")
        db.execute("PRAGMA writable_schema = on")
        db.execute("INSERT INTO sqlite_master VALUES (?, ?, ?, ?, ?)", index)
        db.commit()


BAD = {
    make_newer: "newer version; update",
    make_foreign: "not a book of Ringside's",
    make_empty: "not a book of Ringside's",
    make_text: "not a book of Ringside's",
    cut_short: "is broken",
    spoil_the_end: "is broken",
    spoil_an_index: "is broken.*index",
    spoil_the_start: "is broken|not a book",
}


@pytest.mark.parametrize("spoil", BAD)
def test_a_file_that_is_no_good_is_refused(place: Place, spoil: Callable[[Path], None]) -> None:
    copy = keeping.backup(place)
    spoil(copy)
    spoiled, before, there = copy.read_bytes(), place.file.read_bytes(), files(place.data)
    with pytest.raises(BookError, match=BAD[spoil]):
        keeping.restore(place, copy)
    assert place.file.read_bytes() == before
    assert copy.read_bytes() == spoiled
    assert files(place.data) - there <= {keeping.locks.LOCK}


def test_every_page_spoiled_is_noticed_or_harmless(place: Place, tmp_path: Path) -> None:
    """No spoiled copy takes the book's place, unless what it lost is in none of its records."""
    copy = keeping.backup(place)
    whole = copy.read_bytes()
    wanted = everything(copy)
    refused = 0
    for page in range(0, len(whole), 4096):
        copy.write_bytes(whole[:page] + b"\xa5" * 4096 + whole[page + 4096 :])
        new = Place(tmp_path / str(page))
        try:
            keeping.restore(new, copy)
        except BookError:
            refused += 1
            assert not new.file.exists()
        else:
            assert everything(new) == wanted
    assert refused > len(whole) // 4096 * 0.8


def test_the_book_itself_and_no_file_at_all_are_refused(place: Place, tmp_path: Path) -> None:
    with pytest.raises(BookError, match="is the book itself"):
        keeping.restore(place, place.file)
    with pytest.raises(BookError, match="There is no file"):
        keeping.restore(place, tmp_path / "none.db")


def test_a_copy_whose_records_do_not_match_its_changes_is_made_anew(place: Place) -> None:
    copy = keeping.backup(place)
    with closing(sqlite3.connect(copy)) as db:
        db.execute("DELETE FROM record WHERE cells LIKE '%Dog 5%'")
        db.commit()
    before = everything(place)
    assert keeping.restore(place, copy).is_rebuilt
    assert everything(place) == before


@pytest.mark.parametrize("broken", [b"broken" * 1000, b"broken" * 3 + b"\2\2" + b"broken" * 900])
@pytest.mark.parametrize("end", ["", "-wal"])
def test_a_broken_book_can_be_replaced(place: Place, end: str, broken: bytes) -> None:
    """It and what stands beside it go to the copies; nothing of it meets the restored book."""
    copy = keeping.backup(place)
    wanted = everything(copy)
    place.file.write_bytes(broken)
    Path(f"{place.file}{end}").write_bytes(broken)
    done = keeping.restore(place, copy)
    assert done.aside
    assert done.aside.read_bytes() == broken
    assert not Path(f"{place.file}-wal").exists()
    assert Path(f"{done.aside}{end}").exists()
    assert done.has_devices_of_copy
    assert everything(place) == wanted


def test_a_write_ahead_log_left_by_a_kill_is_kept_with_the_old_book(
    place: Place, tmp_path: Path
) -> None:
    """A killed server left changes in -wal: they belong to the old book, not to the restored."""
    copy = keeping.backup(place)
    killed = Place(tmp_path / "killed")
    killed.data.mkdir()
    book = open_book(place)
    with book.session():
        book.append([change("Only in the log")], NOW)
        for file in place.data.glob("book.db*"):
            shutil.copyfile(file, killed.data / file.name)
    book.close()
    done = keeping.restore(killed, copy)
    assert done.aside
    assert everything(done.aside) == everything(place)
    assert everything(killed) == everything(copy)


KEEPING = "ringside.book.keeping"
STEPS = [
    *(f"{KEEPING}.restoring._{name}" for name in ("fetch", "settle", "take_devices", "set_aside")),
    *(f"{KEEPING}.pouring.{name}" for name in ("pour", "_pour_table", "_has_its_records")),
    *(f"{KEEPING}.checks.{name}" for name in ("checked", "make_one_file")),
    *(f"{KEEPING}.files.{name}" for name in ("sync", "sync_folder")),
    "os.replace",
    "shutil.copyfile",
]
FULL = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
SQL_FULL = sqlite3.OperationalError("database or disk is full")


@pytest.mark.parametrize("error", [FULL, SQL_FULL, KeyboardInterrupt()], ids=repr)
@pytest.mark.parametrize("is_after", [False, True])
@pytest.mark.parametrize("step", STEPS)
def test_a_restore_that_ends_at_any_step_leaves_a_whole_book(
    place: Place,
    monkeypatch: pytest.MonkeyPatch,
    step: str,
    is_after: bool,
    error: BaseException,
) -> None:
    """Each call of the step fails in turn: before it did anything, or just after it did all."""
    put(place, OWN)
    copy = keeping.backup(place)
    wanted = everything(copy), {**OWN, "marsh-hound.toml": MOOR}
    write_more(place)
    here = {"fen-hound.toml": OTHER_FEN, "heath-hound.toml": HEATH, "marsh-hound.toml": MOOR}
    put(place, here)
    before = everything(place), own(place)
    home, _, name = step.rpartition(".")
    owner = pkgutil.resolve_name(home)
    plain = getattr(owner, name)
    for turn in range(20):
        calls = 0

        def fail(*given: Any, turn: int = turn) -> Any:
            nonlocal calls
            calls += 1
            result = plain(*given) if is_after or calls != turn + 1 else None
            if calls == turn + 1:
                raise error
            return result

        with monkeypatch.context() as patch:
            patch.setattr(owner, name, fail)
            expected = (
                pytest.raises(KeyboardInterrupt)
                if isinstance(error, KeyboardInterrupt)
                else pytest.raises(BookError, match="Make room on the disk")
            )
            try:
                with expected:
                    keeping.restore(place, copy)
            except pytest.fail.Exception:
                assert calls <= turn, "a failure was swallowed"
        now = everything(place), own(place)
        assert now in (before, wanted)
        assert put_by(place) == ([OTHER_FEN] if now == wanted else [])
        assert no_drafts(place.data)
        if calls <= turn:
            assert turn, "the step was never taken"
            break
        if now == wanted:  # the fault came after the rename: start over
            write_more(place)
            put(place, here)
            before = everything(place), own(place)
    keeping.restore(place, copy)
    assert (everything(place), own(place)) == wanted


KILLED = """
import os, pkgutil, signal, sys
from pathlib import Path
from ringside.book import keeping
from ringside.book.place import Place
place, copy = Place(Path(sys.argv[1])), Path(sys.argv[2])
step, is_after = sys.argv[3], sys.argv[4]
turn = int(sys.argv[5])
calls = 0
home, _, name = step.rpartition(".")
owner = pkgutil.resolve_name(home)
plain = getattr(owner, name)
def die(*given):
    global calls
    calls += 1
    if is_after == "True" or calls <= turn:
        plain(*given)
    if calls > turn:
        os.kill(os.getpid(), signal.SIGKILL)
setattr(owner, name, die)
keeping.restore(place, copy)
"""


@posix
@pytest.mark.parametrize("is_after", [False, True])
@pytest.mark.parametrize(
    ("step", "turn"),
    [
        (f"{KEEPING}.restoring._settle", 0),
        (f"{KEEPING}.restoring._set_aside", 0),
        *(("os.replace", n) for n in range(4)),
    ],
)
def test_a_restore_killed_midway(place: Place, step: str, turn: int, is_after: bool) -> None:
    """The book stays; of breed files none is lost, and the same once more brings all."""
    put(place, {"fen-hound.toml": FEN, "moor-hound.toml": MOOR})
    copy = keeping.backup(place)
    wanted = everything(copy)
    put(place, {"fen-hound.toml": OTHER_FEN})
    write_more(place)
    before = everything(place)
    given = [str(place.data), str(copy), step, str(is_after), str(turn)]
    done = subprocess.run([sys.executable, "-c", KILLED, *given], cwd=ROOT, check=False)
    assert done.returncode == -signal.SIGKILL
    assert everything(place) == before
    assert OTHER_FEN in [own(place)["fen-hound.toml"], *put_by(place)]
    assert own(place)["fen-hound.toml"] in (FEN, OTHER_FEN)
    drafts = list(place.data.rglob(f".*{keeping.files.DRAFT}*"))
    foreign = place.data / ".somebody's.draft"
    foreign.touch()
    for draft in (*drafts, foreign):
        os.utime(draft, (1, 1))
    keeping.restore(place, copy)
    assert everything(place) == wanted
    assert own(place) == {"fen-hound.toml": FEN, "moor-hound.toml": MOOR}
    assert set(put_by(place)) == {OTHER_FEN}
    keeping.backup(place)
    assert drafts
    assert not any(draft.exists() for draft in drafts)
    assert foreign.exists()


def test_a_restore_waits_for_the_server_to_stop(place: Place) -> None:
    copy = keeping.backup(place)
    before = place.file.read_bytes()
    with keeping.serving(place):
        with pytest.raises(BookError, match="stop `ringside serve` first"):
            keeping.restore(place, copy)
        with keeping.serving(place) if os.name != "nt" else nullcontext():
            pass  # a second server may use the book too
        with pytest.raises(BookError, match="stop `ringside serve` first"):
            keeping.restore(place, copy)
    assert place.file.read_bytes() == before
    keeping.restore(place, copy)


def test_a_restore_waits_for_any_other_program_that_has_the_book_open(place: Place) -> None:
    copy = keeping.backup(place)
    book = open_book(place)
    with book.session():
        book.newest()
        with pytest.raises(BookError, match="stop `ringside serve` first"):
            keeping.restore(place, copy)
        book.append([change("Still mine")], NOW)
    book.close()
    keeping.restore(place, copy)


@posix
def test_no_server_starts_amid_a_restore(place: Place) -> None:
    with (
        keeping.locks.alone(place),
        pytest.raises(BookError, match="being restored"),
        keeping.serving(place),
    ):
        pass


def let_in(book: Book, device: str, role: str = OWNER) -> str:
    devices = Devices(book)
    paired = devices.pair(devices.offer(role, NOW).link, device, "A phone", "10.0.0.1", NOW)
    assert isinstance(paired, Paired)
    return paired.token


def test_a_phone_shut_out_since_the_copy_stays_out(place: Place) -> None:
    book = open_book(place)
    with book.session():
        lost = let_in(book, LOST)
        unused = Devices(book).offer(OWNER, NOW)
    copy = keeping.backup(place)
    with book.session():
        Devices(book).revoke(LOST, NOW + 1)
        new = let_in(book, OTHER, HELPER)
    book.close()
    assert not keeping.restore(place, copy).has_devices_of_copy
    book = open_book(place)
    with book.session():
        assert Devices(book).holder(lost) == Holder(LOST, OWNER, is_revoked=True)
        assert Devices(book).holder(new) == Holder(OTHER, HELPER, is_revoked=False)
        assert not isinstance(
            Devices(book).pair(unused.link, str(uuid6.uuid7()), "x", "10.0.0.1", NOW), Paired
        )
    book.close()


def test_another_books_copy_brings_its_own_devices(place: Place, tmp_path: Path) -> None:
    other = open_book(Place(tmp_path / "other"))
    with other.session():
        token = let_in(other, PHONE)
    other.close()
    assert keeping.restore(place, other.place.file).has_devices_of_copy
    book = open_book(place)
    with book.session():
        assert Devices(book).holder(token)
    book.close()
    assert book.id == other.id


# --- own breed files


def test_a_copy_brings_own_breed_files_to_a_new_laptop(place: Place, tmp_path: Path) -> None:
    put(place, OWN)
    (place.own_breeds / "fen-hound.2026-01-01-000000.toml.old").write_bytes(b"history")
    copy = keeping.backup(place)
    assert keeping.breeds_in(copy) == OWN
    assert keeping.breeds.KEPT not in tables(place)
    new = Place(tmp_path / "new")
    done = keeping.restore(new, copy)
    assert (set(done.breeds), done.old) == (set(OWN), ())
    assert own(new) == OWN
    assert put_by(new) == []
    assert keeping.breeds.KEPT not in tables(new), "the book in use has them in its folder alone"
    assert everything(new) == everything(place)
    if os.name != "nt":
        folder = new.own_breeds
        assert {mode(folder), *map(mode, folder.iterdir())} == {0o700, 0o600}


def test_a_restore_replaces_what_differs_and_keeps_it_and_leaves_the_rest(place: Place) -> None:
    put(place, {"fen-hound.toml": FEN, "moor-hound.toml": MOOR})
    copy = keeping.backup(place)
    put(place, {"fen-hound.toml": OTHER_FEN, "moor-hound.toml": MOOR, "heath-hound.toml": HEATH})
    later = own(place)
    done = keeping.restore(place, copy)
    assert done.breeds == ("fen-hound.toml",)
    (old,) = done.old
    assert old.read_bytes() == OTHER_FEN
    assert old.name.startswith("fen-hound.20")
    assert old.name.endswith(".toml.old")
    assert own(place) == {**later, "fen-hound.toml": FEN}
    assert done.aside
    assert keeping.breeds_in(done.aside) == later, "the book before it is kept with its own"
    keeping.restore(place, done.aside)
    assert own(place) == later
    assert keeping.restore(place, done.aside).breeds == ()


def test_the_disk_holds_each_file_before_it_takes_its_place(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(place, OWN)
    copy = keeping.backup(place)
    put(place, {"fen-hound.toml": OTHER_FEN})
    synced: list[Path] = []
    renamed: dict[Path, bool] = {}
    sync, rename = keeping.files.sync, os.replace

    def note(source: Path, target: Path) -> None:
        renamed[target] = source in synced
        rename(source, target)

    monkeypatch.setattr(keeping.files, "sync", lambda file: (sync(file), synced.append(file)))
    monkeypatch.setattr(os, "replace", note)
    done = keeping.restore(place, copy)
    monkeypatch.undo()
    assert done.aside
    new = {place.own_breeds / name for name in OWN}
    assert renamed.keys() == {place.file, done.aside, *done.old, *new}
    assert all(renamed.values())


def test_a_copy_from_before_there_were_any_in_it_touches_none(place: Place) -> None:
    copy = keeping.backup(place)
    with closing(sqlite3.connect(copy)) as db:
        db.execute(f"DROP TABLE {keeping.breeds.KEPT}")
    put(place, OWN)
    assert keeping.breeds_in(copy) == {}
    assert keeping.restore(place, copy).breeds == ()
    assert own(place) == OWN
    assert put_by(place) == []


def test_a_copy_that_was_put_in_place_by_hand_is_copied_with_what_is_in_the_folder(
    place: Place,
) -> None:
    put(place, {"fen-hound.toml": FEN})
    shutil.copyfile(keeping.backup(place), place.file)
    put(place, {"moor-hound.toml": MOOR})
    assert keeping.breeds_in(keeping.backup(place)) == {"moor-hound.toml": MOOR}


def test_what_is_of_no_use_by_its_name_or_size_is_left_out_and_told(place: Place) -> None:
    great = b"#" * (MOST_OWN_SIZE + 1)
    put(place, {"Fen Hound.toml": FEN, "great.toml": great, "just.toml": great[1:]})
    (place.own_breeds / "folder.toml").mkdir()
    copy = keeping.backup(place)
    assert set(keeping.breeds_in(copy)) == {"just.toml"}
    problems: list[str] = []
    keeping.own_breeds(place, problems)
    told = "\n".join(problems)
    assert set(problems) <= set(load(own=place.own_breeds).set_aside), "one rule for both"
    for words in ("Fen Hound.toml", "great.toml: is too large", "folder.toml: cannot be read"):
        assert words in told
    # What stands in the way of a file is never overwritten unseen either.
    put(place, {"just.toml": great})
    (old,) = keeping.restore(place, copy).old
    assert old.read_bytes() == great
    put(place, {})
    (place.own_breeds / "just.toml").mkdir()
    write_more(place)
    before = everything(place)
    with pytest.raises(BookError, match=r"just\.toml.*left as it was\. Fix that and try again"):
        keeping.restore(place, copy)
    assert everything(place) == before


def test_as_many_as_are_used_are_kept_and_come_back(place: Place, tmp_path: Path) -> None:
    put(place, {f"b{number:04}.toml": b"" for number in range(MOST_OWN_FILES + 2)})
    problems: list[str] = []
    assert len(keeping.own_breeds(place, problems)) == MOST_OWN_FILES
    assert len(problems) == 2
    assert "there are more than" in problems[0]
    new = Place(tmp_path / "new")
    assert len(keeping.restore(new, keeping.backup(place)).breeds) == MOST_OWN_FILES


def plant(copy: Path, *rows: tuple[Any, Any], make: str = "(name, content)") -> None:
    with closing(sqlite3.connect(copy)) as db:
        db.execute(f"DROP TABLE {keeping.breeds.KEPT}")
        db.execute(f"CREATE TABLE {keeping.breeds.KEPT} {make}")
        marks = ", ".join("?" * len(rows[0])) if rows else ""
        db.executemany(f"INSERT INTO {keeping.breeds.KEPT} VALUES ({marks})", rows)
        db.commit()


def plant_a_view(copy: Path) -> None:
    with closing(sqlite3.connect(copy)) as db:
        db.execute(f"DROP TABLE {keeping.breeds.KEPT}")
        db.execute(
            f"CREATE VIEW {keeping.breeds.KEPT} AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL "
            "SELECT i + 1 FROM n) SELECT 'b' || i || '.toml' AS name, x'00' AS content FROM n"
        )


def plant_gigabytes_made_of_nothing(copy: Path) -> None:
    made = "(name TEXT, content BLOB AS (zeroblob(900000000)))"
    plant(copy, *[(f"b{number}.toml",) for number in range(3)], make=made)


HOSTILE: dict[str, Callable[[Path], None]] = {
    **{
        f"named {name!r}": lambda copy, name=name: plant(copy, ("a.toml", FEN), (name, FEN))
        for name in ("../x.toml", "/x.toml", "..\\x.toml", "C:x.toml", "x.toml\0", "x.toml\n",
                     "fen.2026.toml.old", "fen", ".toml", "X.toml", f"{'x' * 51}.toml", "", None,
                     7, b"x.toml", "\x1b[2J.toml")
    },
    "text": lambda copy: plant(copy, ("x.toml", "text")),
    "nothing": lambda copy: plant(copy, ("x.toml", None)),
    "too large": lambda copy: plant(copy, ("x.toml", b"#" * (MOST_OWN_SIZE + 1))),
    "much too large": lambda copy: plant(copy, ("x.toml", b"#" * 50_000_000)),
    "too many": lambda copy: plant(copy, *[(f"b{n}.toml", b"") for n in range(10_000)]),
    "other columns": lambda copy: plant(copy, ("x.toml", FEN), make="(file, content)"),
    "endless": plant_a_view,
    "made of nothing": plant_gigabytes_made_of_nothing,
}  # fmt: skip


# Looked for before it is read.
FORESEEN = {"endless": "what should hold breed files does not", "made of nothing": "too big"}


@pytest.mark.parametrize("case", HOSTILE)
def test_a_hostile_copy_is_refused_and_does_no_harm(
    place: Place, case: str, tmp_path: Path
) -> None:
    copy = keeping.backup(place, tmp_path / "hostile.db")
    HOSTILE[case](copy)
    put(place, {"fen-hound.toml": OTHER_FEN})
    before, there = everything(place), files(tmp_path)
    reason = FORESEEN.get(case, "")
    with pytest.raises(
        BookError, match=f"is broken: .*{reason}.* Nothing was .*; use another copy"
    ):
        keeping.restore(place, copy)
    assert everything(place) == before
    assert own(place) == {"fen-hound.toml": OTHER_FEN}
    assert files(tmp_path) - there <= {f"data/{keeping.locks.LOCK}"}


@pytest.mark.parametrize("value", ["[1e999]", "-1e999", "Infinity", "NaN", "[" * 5_000], ids=len)
def test_a_value_that_no_export_could_hold_is_not_restored(
    place: Place, value: str, tmp_path: Path
) -> None:
    copy = keeping.backup(place, tmp_path / "copy.db")
    with closing(sqlite3.connect(copy)) as db:
        db.execute("UPDATE change SET value = ? WHERE seq = 1", (value,))
        db.commit()
    with pytest.raises(BookError, match="row 1 of change, its value is not JSON"):
        keeping.restore(Place(tmp_path / "new"), copy)


def test_a_broken_book_is_replaced_with_its_breed_files_kept_beside(place: Place) -> None:
    put(place, {"fen-hound.toml": FEN})
    copy = keeping.backup(place)
    put(place, {"fen-hound.toml": OTHER_FEN})
    place.file.write_bytes(b"broken" * 1000)
    done = keeping.restore(place, copy)
    assert done.aside
    assert done.aside.read_bytes() == b"broken" * 1000
    assert (own(place), put_by(place)) == ({"fen-hound.toml": FEN}, [OTHER_FEN])


def test_a_book_too_broken_to_hold_them_is_set_aside_as_it_is(place: Place) -> None:
    """It can be opened, and yet nothing can be added to it."""
    copy = keeping.backup(place)
    put(place, {"fen-hound.toml": OTHER_FEN})
    with closing(sqlite3.connect(place.file)) as db:
        db.execute(f"CREATE VIEW {keeping.breeds.KEPT} AS SELECT 1")
    before = everything(place)
    done = keeping.restore(place, copy)
    assert done.aside
    assert everything(done.aside) == before
    assert everything(place) == everything(copy)
    assert no_drafts(place.data)


# --- daily copies


def test_one_copy_a_day_and_the_last_fourteen_are_kept(place: Place) -> None:
    mine = [keeping.backup(place), keeping.backup(place, place.copies / "daily.db")]
    made = [keeping.daily(place, TODAY + timedelta(days)) for days in range(20)]
    assert all(made)
    assert keeping.daily(place, TODAY + timedelta(19)) is None
    kept = {copy.name for copy in [*mine, *made[-14:]] if copy}
    assert files(place.copies) == kept
    assert everything(made[-1] or place) == everything(place)
    if os.name != "nt":
        assert mode(made[-1] or place) == 0o600


def test_a_clock_set_back_does_not_cost_the_new_copy(place: Place) -> None:
    for days in range(14):
        keeping.daily(place, TODAY + timedelta(days))
    early = keeping.daily(place, TODAY - timedelta(400))
    assert early
    assert early.exists()


def test_an_empty_book_is_not_copied(tmp_path: Path) -> None:
    book = open_book(Place(tmp_path))
    book.close()
    assert keeping.daily(book.place, TODAY) is None
    assert list(tmp_path.iterdir()) == [book.place.file]
    put(book.place, OWN)
    copy = keeping.daily(book.place, TODAY)
    assert copy
    assert keeping.breeds_in(copy) == OWN


def test_a_thread_keeps_the_copies(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[date] = []
    days = (TODAY + timedelta(days) for days in itertools.count())

    class Days:
        today = staticmethod(lambda: next(days))

    monkeypatch.setattr(keeping.copies, "date", Days)
    monkeypatch.setattr(keeping.copies, "LOOK_EVERY", 0.01)
    monkeypatch.setattr(keeping.copies, "daily", lambda _, today, *__: made.append(today))
    with keeping.kept_daily(place):
        until(lambda: len(made) >= 3, "three copies were made")
    assert made[:3] == [TODAY + timedelta(days) for days in range(3)]
    assert "daily copies" not in {thread.name for thread in threading.enumerate()}


def test_a_daily_copy_that_fails_is_told_and_does_not_end_the_server(
    place: Place, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(*_: Any) -> None:
        raise FULL

    monkeypatch.setattr(keeping.files, "sync", full)
    monkeypatch.setattr(keeping.copies, "LOOK_EVERY", 0.01)
    said = ""

    def is_told_again() -> bool:
        nonlocal said
        said += capsys.readouterr().err
        return said.count("The daily copy did not work") > 1

    with keeping.kept_daily(place):
        until(is_told_again, "it was tried again, and told again")
    assert "Make room on the disk" in said
    assert files(place.copies) == set()


# --- an older format


@pytest.fixture
def old(place: Place) -> Place:
    """A book of a format that never was, but for its number."""
    with closing(sqlite3.connect(place.file)) as db:
        db.execute("UPDATE meta SET value = ? WHERE key = 'format'", (str(FORMAT - 1),))
        db.execute('ALTER TABLE record RENAME COLUMN "cells" TO "called"')
        db.commit()
    return place


def rename_back(db: sqlite3.Connection) -> None:
    db.execute('ALTER TABLE record RENAME COLUMN "called" TO "cells"')


def test_an_older_format_is_brought_on_after_a_copy(
    old: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = log(old)
    monkeypatch.setitem(keeping.formats.MIGRATIONS, FORMAT - 1, rename_back)
    book = open_book(old)
    with book.session():
        assert "Dog 5" in {dog["name"] for dog in book.records("dog").values()}
        book.append([change("New")], NOW)
    book.close()
    (copy,) = old.copies.iterdir()
    assert f"before-format-{FORMAT}" in copy.name
    assert log(copy) == before
    assert table(copy, "SELECT value FROM meta WHERE key = 'format'") == [(str(FORMAT - 1),)]
    assert "called" in {row[1] for row in table(copy, "PRAGMA table_info(record)")}
    assert table(old, "SELECT value FROM meta WHERE key = 'format'") == [(str(FORMAT),)]
    open_book(old).close()
    assert len(list(old.copies.iterdir())) == 1, "once is enough"
    # The way back to the older book, which is then brought on again.
    keeping.restore(old, copy)
    book = open_book(old)
    with book.session():
        assert len(book.records("dog")) == 40
    book.close()


def test_a_migration_that_fails_leaves_the_older_book(
    old: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    def half(db: sqlite3.Connection) -> None:
        rename_back(db)
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setitem(keeping.formats.MIGRATIONS, FORMAT - 1, half)
    before = log(old), table(old, "SELECT * FROM record"), table(old, "SELECT * FROM sqlite_master")
    with pytest.raises(BookError, match=r"left as it was\. Make room"):
        open_book(old)
    after = log(old), table(old, "SELECT * FROM record"), table(old, "SELECT * FROM sqlite_master")
    assert after == before


def test_no_migration_without_its_copy(old: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: Any) -> None:
        raise FULL

    called: list[Any] = []
    monkeypatch.setitem(keeping.formats.MIGRATIONS, FORMAT - 1, called.append)
    monkeypatch.setattr(keeping.copying, "copy_file", full)
    with pytest.raises(BookError, match="Make room"):
        open_book(old)
    assert called == []


def test_a_format_nobody_can_bring_on_is_left_alone(
    old: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delitem(keeping.formats.MIGRATIONS, FORMAT - 1)
    before = old.file.read_bytes()
    with pytest.raises(BookError, match=f"of format {FORMAT - 1}, which this version cannot read"):
        open_book(old)
    assert old.file.read_bytes() == before
    assert files(old.data) == {FILE_NAME}


def test_what_only_reads_a_book_leaves_its_format(old: Place, tmp_path: Path) -> None:
    before = old.file.read_bytes()
    for read in (keeping.export, keeping.export_csv):
        with pytest.raises(BookError, match="start `ringside serve`, which brings it to format"):
            read(old, tmp_path / "out")
    assert old.file.read_bytes() == before
    assert files(tmp_path) == {f"data/{FILE_NAME}", "data/in-use.lock"}


# --- JSON


def test_an_export_taken_into_an_empty_book_gives_the_same_book(
    place: Place, tmp_path: Path
) -> None:
    target = tmp_path / "all.json"
    put(place, OWN)
    assert keeping.export(place, target) == keeping.Exported(len(log(place)), 3)
    new = Place(tmp_path / "new")
    names = tuple(sorted(OWN))
    assert keeping.import_(new, target) == keeping.Imported(len(log(place)), 0, names)
    assert everything(new) == everything(place)
    assert own(new) == OWN
    assert any(row[6] != row[7] for row in log(new)), "raw stamps among them"
    book = open_book(new)
    with book.session():
        assert keeping.checks.is_as_its_log(book)
        assert len(book.texts_apart()) == 1
    book.close()
    again = tmp_path / "again.json"
    keeping.export(new, again)
    assert again.read_bytes() == target.read_bytes()
    if os.name != "nt":
        assert (mode(target), mode(new)) == (0o600, 0o600)


@pytest.mark.parametrize("seed", range(12))
def test_any_history_comes_back_from_its_export(seed: int, tmp_path: Path) -> None:
    """Clocks that lead by days, texts built on texts, batches in any order, answers lost."""
    chance = random.Random(seed)
    book = open_book(Place(tmp_path))
    records = [str(uuid6.uuid7()) for _ in range(3)]
    made: list[Change] = []
    for number in range(80):
        device = chance.choice([PHONE, OTHER, LOST])
        built_on = chance.choice(made)["stamp"] if made and chance.random() < 0.6 else ""
        at = NOW + number * 1000 + {PHONE: 0, OTHER: 5 * 60_000, LOST: 3 * DAY}[device]
        text = {"kind": "note", "field": "text"} if chance.random() < 0.7 else {}
        record = chance.choice(records)
        made.append(change(f"{number}", at, device=device, base=built_on, record=record, **text))
    waiting = made[:]
    with book.session():
        for number in range(200):
            batch = chance.sample(waiting, min(len(waiting), chance.randrange(1, 9)))
            receipt = book.append(batch, NOW + number * chance.choice([1, 1000, -1000]))
            done = {*receipt.taken, *receipt.refused} if chance.random() < 0.8 else ()
            waiting = [one for one in waiting if one["id"] not in done]
    book.close()
    target = tmp_path / "all.json"
    keeping.export(book.place, target)
    new = Place(tmp_path / "new")
    assert keeping.import_(new, target).new > 20
    assert everything(new) == everything(book.place)
    assert any(row[6] != row[7] for row in log(new))


def test_an_import_leaves_a_breed_file_that_differs_and_says_so(
    place: Place, tmp_path: Path
) -> None:
    target = tmp_path / "all.json"
    put(place, {"fen-hound.toml": FEN, "moor-hound.toml": MOOR, "heath-hound.toml": HEATH})
    keeping.export(place, target)
    put(place, {"fen-hound.toml": OTHER_FEN, "heath-hound.toml": HEATH})
    done = keeping.import_(place, target)
    assert (done.breeds, done.differing) == (("moor-hound.toml",), ("fen-hound.toml",))
    assert own(place) == {**OWN, "fen-hound.toml": OTHER_FEN}
    assert put_by(place) == []


def test_an_export_without_breed_files_is_taken_as_before(place: Place, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    number = keeping.export(place, target).changes
    data = json.loads(target.read_text(encoding="utf-8"))
    assert data.pop("breeds") == {}
    target.write_text(json.dumps(data), encoding="utf-8")
    new = Place(tmp_path / "new")
    assert keeping.import_(new, target) == keeping.Imported(number, 0)


def test_an_import_that_fails_puts_no_breed_file_there(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: Any) -> None:
        raise FULL

    target = tmp_path / "all.json"
    put(place, OWN)
    keeping.export(place, target)
    new = Place(tmp_path / "new")
    with monkeypatch.context() as patch:
        patch.setattr(keeping.importing._Taking, "contested", full)
        with pytest.raises(BookError, match="Make room"):
            keeping.import_(new, target)
    assert (log(new), own(new)) == ([], {})
    keeping.import_(new, target)
    assert own(new) == OWN


def test_a_value_nested_as_deep_as_former_versions_took_comes_back(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From a copy and from an export: what an owner's phone once sent spoils neither."""
    book = open_book(place)
    made = change(json.loads("[" * 800 + "]" * 800), NOW + 99, field="horns")
    with book.session(), monkeypatch.context() as patch:
        patch.setattr(rules, "MOST_UNKNOWN_DEPTH", 999)
        assert book.append([made], NOW + 99).taken == [made["id"]]
    book.close()
    target, there, back = tmp_path / "all.json", Place(tmp_path / "new"), Place(tmp_path / "back")
    number = keeping.export(place, target).changes
    assert keeping.import_(there, target).new == number
    keeping.restore(back, keeping.backup(place))
    assert everything(there) == everything(back) == everything(place)


def test_taken_in_again_nothing_is_doubled(place: Place, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    number = keeping.export(place, target).changes
    before = everything(place)
    for _ in range(2):
        assert keeping.import_(place, target) == keeping.Imported(0, number)
    assert everything(place) == before


def test_the_same_book_takes_in_what_it_lacks(place: Place, tmp_path: Path) -> None:
    copy = keeping.backup(place)
    write_more(place, 3)
    wanted = everything(place)
    target = tmp_path / "all.json"
    keeping.export(place, target)
    keeping.restore(place, copy)
    assert keeping.import_(place, target).new == 3
    assert everything(place) == wanted


def test_another_book_is_not_mixed_in(place: Place, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    keeping.export(place, target)
    other = Place(tmp_path / "other")
    write_more(other)
    before = everything(other)
    with pytest.raises(BookError, match=r"from another book.*Name an empty folder"):
        keeping.import_(other, target)
    assert everything(other) == before


def test_an_import_waits_for_the_server_to_stop(place: Place, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    keeping.export(place, target)
    with (
        keeping.serving(place),
        pytest.raises(BookError, match="stop `ringside serve` first"),
    ):
        keeping.import_(place, target)


def test_an_export_holds_no_secret_and_goes_over_nothing(place: Place, tmp_path: Path) -> None:
    book = open_book(place)
    with book.session():
        token = let_in(book, PHONE)
        secret = book.secret
    book.close()
    target = tmp_path / "all.json"
    keeping.export(place, target)
    text = target.read_text(encoding="utf-8")
    assert secret not in text
    assert token not in text
    assert "token" not in text
    with pytest.raises(BookError, match="already; choose another name"):
        keeping.export(place, target)
    assert target.read_text(encoding="utf-8") == text


def spoiled(data: dict[str, Any]) -> Iterator[tuple[str, Any, str]]:
    changes = data["changes"]

    def with_last(**given: Any) -> dict[str, Any]:
        return {**data, "changes": [*changes[:-1], {**changes[-1], **given}]}

    yield "list", [], "not an export"
    yield "no mark", {**data, "ringside": "x"}, "not an export"
    yield "newer", {**data, "format": 3}, "newer version; update"
    yield "format of no type", {**data, "format": "1"}, "not an export"
    yield "format true", {**data, "format": True}, "not an export"
    yield "book", {**data, "book": "x"}, "not an export"
    yield "book of no type", {**data, "book": None}, "not an export"
    no_breed = (
        "something that is not a breed file of your own. Nothing was changed; export it again"
    )
    fen = "fen-hound.toml"
    too_many = {f"b{number}.toml": "" for number in range(MOST_OWN_FILES + 1)}
    too_large = {fen: "x" * (MOST_OWN_SIZE + 1)}
    unfit = {fen: 1}, {fen: "\ud800"}, {"../x.toml": ""}, {"fen-hound": ""}
    for breeds in (None, [], *unfit, too_large, too_many):
        yield f"breeds {str(breeds)[:40]}", {**data, "breeds": breeds}, no_breed
    photo = {"sha256": "0" * 64, "received": 1, "jpeg": ""}
    for wrong in (7, {}, {**photo, "sha256": "x"}, {**photo, "more": 1}, {**photo, "jpeg": None}):
        yield f"photos {wrong}", {**data, "photos": [wrong]}, "photo 1: it is not one. Nothing was"
    yield "photos of no type", {**data, "photos": {}}, "something that is not a photo. Nothing was"
    yield "no changes", {**data, "changes": None}, "not an export"
    yield "contested", {**data, "contested": [{"id": 1}]}, "not an export"
    apart = {"id": PHONE, "content": "{}", "received": 1}
    yield "contested content", {**data, "contested": [apart]}, "not an export"
    whole = data["contested"][0]
    for wrong in ("\0", "\ud800"):
        yield "contested id", {**data, "contested": [{**whole, "id": wrong}]}, "not an export"
        content = whole["content"] + wrong
        yield "half", {**data, "contested": [{**whole, "content": content}]}, "not an export"
    yield "double", {**data, "changes": [*changes, changes[0]]}, "has its id"
    yield "change of no type", {**data, "changes": [*changes, 7]}, "exactly the keys"
    yield "half a character", with_last(value="\ud800"), "not JSON that can be saved"
    yield "a kind that is no word", with_last(kind="a cat"), "must be a word of small letters"
    yield "a raw stamp", with_last(raw="now"), "raw stamp is malformed"
    yield "received", with_last(received=-1), "moment of arrival"
    yield "received of no type", with_last(received=1.5), "moment of arrival"
    yield "stamp", with_last(stamp="x"), "stamp is malformed"
    yield "base", with_last(base=changes[-1]["stamp"]), "newer than itself|out of order"


def test_a_spoiled_export_changes_nothing(place: Place, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    keeping.export(place, target)
    data = json.loads(target.read_text(encoding="utf-8"))
    new = Place(tmp_path / "new")
    open_book(new).close()
    before = everything(new)
    for case, bad, words in spoiled(data):
        target.write_text(json.dumps(bad), encoding="utf-8")
        with pytest.raises(BookError, match=words):
            keeping.import_(new, target)
        assert everything(new) == before, case
    deep = b"[" * 5_000 + b"]" * 5_000
    in_it = json.dumps(data).encode().replace(b'"From the desk"', deep)
    assert deep in in_it
    endless = in_it.replace(deep, b"1e999")
    for content in (b"", b"{", b"\xff\xfe", b"[" * 100_000, in_it, endless):
        target.write_bytes(content)
        with pytest.raises(BookError, match="not complete JSON"):
            keeping.import_(new, target)
    with pytest.raises(BookError, match="The import did not work"):
        keeping.import_(new, tmp_path / "none.json")
    assert everything(new) == before


def test_an_id_that_means_something_else_here_is_refused(place: Place, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    keeping.export(place, target)
    data = json.loads(target.read_text(encoding="utf-8"))
    data["changes"][3]["value"] = "Another"
    target.write_text(json.dumps(data), encoding="utf-8")
    before = everything(place)
    with pytest.raises(BookError, match="another change under the id"):
        keeping.import_(place, target)
    assert everything(place) == before


@posix
def test_a_disk_that_fills_up_at_any_point_of_export_and_import(
    place: Place, tmp_path: Path
) -> None:
    target = tmp_path / "all.json"
    number = keeping.export(place, target).changes
    for size in range(0, target.stat().st_size, 3000):
        with pytest.raises(BookError), room(size):
            keeping.export(place, tmp_path / "full.json")
        assert not (tmp_path / "full.json").exists()
        assert no_drafts(tmp_path)
    new = Place(tmp_path / "new")
    open_book(new).close()
    failed = 0
    for size in range(0, 400_000, 16_384):
        with suppress(BookError), room(size):
            keeping.import_(new, target)
        if log(new):
            break
        failed += 1
    assert failed
    keeping.import_(new, target)
    assert len(log(new)) == number
    assert everything(new) == everything(place)


# --- CSV


def test_the_records_as_csv(place: Place, tmp_path: Path) -> None:
    book = open_book(place)
    with book.session():
        records = {kind: book.records(kind) for kind in KINDS}
    book.close()
    folder = tmp_path / "csv"
    number = keeping.export_csv(place, folder)
    assert number == sum(map(len, records.values()))
    assert files(folder) == {f"{kind}.csv" for kind in KINDS}
    with (folder / "dog.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["id"]: row["name"] for row in rows} == {
        key: dog["name"] for key, dog in records["dog"].items()
    }
    with (folder / "order.csv").open(encoding="utf-8-sig", newline="") as file:
        assert next(csv.DictReader(file))["stations"] == "bite; head"
    assert (folder / "dog.csv").read_bytes().startswith(b"\xef\xbb\xbf")
    if os.name != "nt":
        assert mode(folder) == 0o700
        assert {mode(entry) for entry in folder.iterdir()} == {0o600}
    with pytest.raises(BookError, match="not an empty folder"):
        keeping.export_csv(place, folder)
    (tmp_path / "empty").mkdir()
    assert keeping.export_csv(place, tmp_path / "empty") == number


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        ('=HYPERLINK("http://x.example")', True),
        ("+1", True),
        ("-1", True),
        ("@SUM(A1)", True),
        ("  =1", True),
        ("＝1", True),
        ("\t=1", "'\t'=1"),
        ("\n=1", "'\n'=1"),
        ("\tx", True),
        (["=1", "b"], "'=1; b"),
        (["a", "=1"], "a;' =1"),
        ("Biscuit;=1", "Biscuit;'=1"),
        ("Biscuit\r\n-1", "Biscuit\r\n'-1"),
        ("a|+1,@b", "a|'+1,'@b"),
        ("Juniper = best", False),
        ("", False),
        (-1.5, -1.5),
        (None, ""),
        (True, "yes"),
        (False, "no"),
    ],
)
def test_no_value_is_a_formula_to_a_spreadsheet(value: Any, cell: Any) -> None:
    wanted = {True: f"'{value}", False: value}[cell] if isinstance(cell, bool) else cell
    assert keeping.records_csv.cell(value) == wanted


def test_a_csv_export_that_fails_leaves_nothing(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: Any) -> None:
        raise FULL

    monkeypatch.setattr(keeping.records_csv, "_write_kind", full)
    with pytest.raises(BookError, match="Make room"):
        keeping.export_csv(place, tmp_path / "csv")
    assert {entry.name for entry in tmp_path.iterdir()} == {"data"}


# --- the command


def test_the_commands(place: Place, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = ["--data", str(place.data)]
    put(place, {**OWN, "Fen.toml": b""})
    copy, whole, table_folder = (str(tmp_path / name) for name in ("c.db", "all.json", "csv"))
    assert cli.main(["backup", *data]) == 0
    assert cli.main(["backup", copy, *data]) == 0
    write_more(place)
    put(place, {"fen-hound.toml": OTHER_FEN})
    assert cli.main(["restore", copy, *data]) == 0
    assert cli.main(["export", whole, *data]) == 0
    assert cli.main(["export", table_folder, "--csv", *data]) == 0
    assert cli.main(["import", whole, "--data", str(tmp_path / "new")]) == 0
    said = capsys.readouterr().out
    for words in ("Copied and checked: ", "Restored: ", "is saved as: ", " changes in ",
                  " records in ", "changes imported", "Own breed files copied with it: 3",
                  "'Fen.toml': the file's name", "Own breed files put back: 3",
                  "One of them differed; the file from before is saved as: ", ".toml.old",
                  "Own breed files in it: 3", "Own breed files imported: 3",
                  "Photos copied with it: none", "Photos put back: none", "Photos in it: none",
                  "Photos imported: none"):  # fmt: skip
        assert words in said
    assert everything(Place(tmp_path / "new")) == everything(place)
    assert cli.main(["restore", whole, *data]) == 2
    assert "not a book of Ringside's" in capsys.readouterr().err
    put(place, {"fen-hound.toml": OTHER_FEN})
    assert cli.main(["import", whole, *data]) == 0
    assert "fen-hound.toml is a different file; it was left" in capsys.readouterr().out


@posix
def test_no_phone_is_invited_amid_a_restore(
    place: Place, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The code would be in the book that goes."""
    book = open_book(place)
    with book.session():
        Devices(book).served_at("http://localhost:8470/")
    book.close()
    pair = ["pair", "--data", str(place.data)]
    before = table(place, "SELECT * FROM code")
    with keeping.locks.alone(place):
        assert cli.main(pair) == 2
    assert "try again afterwards" in capsys.readouterr().err
    assert table(place, "SELECT * FROM code") == before
    with keeping.serving(place):
        assert cli.main(pair) == 0
    assert table(place, "SELECT * FROM code") != before
    assert cli.main(["pair", "--data", str(tmp_path / "none")]) == 2
    assert not (tmp_path / "none").exists()


@posix
def test_a_server_keeps_the_book_and_its_daily_copy(place: Place) -> None:
    """The real server: a copy at its start, a backup while it runs, no restore until it stops."""
    port = free_port()
    ringside = [sys.executable, "-m", "ringside"]
    data = ["--data", str(place.data)]
    server = subprocess.Popen(
        [*ringside, "serve", *data, "--port", str(port), "--no-browser"],
        cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    copies = place.copies
    try:
        until(lambda: list(copies.glob("daily-*.db")) or server.poll() is not None)
        (kept,) = copies.glob("daily-*.db")
        assert log(kept) == log(place)
        assert cli.main(["backup", *data]) == 0
        assert cli.main(["restore", str(kept), *data]) == 2
    finally:
        server.terminate()
        _, said = server.communicate(timeout=PATIENCE)
    assert server.returncode == 0, said
    assert cli.main(["restore", str(kept), *data]) == 0
