"""Keeping the book: copies, the way back, older formats, and out and in again as JSON and CSV."""

from __future__ import annotations

import csv
import errno
import itertools
import json
import os
import random
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
from ringside.book import clock, keeping
from ringside.book.devices import HELPER, OWNER, Devices, Holder, Paired
from ringside.book.models import KINDS
from ringside.book.store import FILE_NAME, FORMAT, Book, BookError
from ringside.knowledge import load
from ringside.knowledge.loader import MOST_OWN_FILES, MOST_OWN_SIZE, OWN_BREEDS
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
def path(tmp_path: Path) -> Path:
    """A book that is closed."""
    path = tmp_path / "data" / FILE_NAME
    fill(Book(path))
    return path


def table(path: Path, sql: str) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(path)) as db:
        return db.execute(sql).fetchall()


def log(path: Path) -> list[tuple[Any, ...]]:
    return table(path, "SELECT * FROM change ORDER BY seq")


def everything(path: Path) -> Rows:
    """The log, what is projected from it, what is kept apart, and whose book it is."""
    tables = {kind: model._meta.table_name for kind, model in KINDS.items()}
    return {
        "change": log(path),
        "contested": table(path, "SELECT id, content, received FROM contested ORDER BY key"),
        "meta": table(path, "SELECT key, value FROM meta WHERE key IN ('id', 'desk', 'format')"),
        **{kind: table(path, f'SELECT * FROM "{it}" ORDER BY id') for kind, it in tables.items()},
    }


def write_more(path: Path, number: int = 1) -> None:
    book = Book(path)
    with book.session():
        book.append([change(f"More {n}", NOW + 99 + n) for n in range(number)], NOW + 99 + number)
    book.close()


def files(folder: Path) -> set[str]:
    return {entry.relative_to(folder).as_posix() for entry in folder.rglob("*") if entry.is_file()}


def no_drafts(folder: Path) -> bool:
    return not [name for name in files(folder) if "draft" in name]


def mode(path: Path) -> int:
    return path.stat().st_mode & 0o777


# Own breed files, one of them no TOML and no UTF-8: it is somebody's all the same.
FEN, MOOR, HEATH = b'name = "Fen Hound"\r\n', 'name = "Möör"'.encode(), b"name = \xff\n["
OWN = {"fen-hound.toml": FEN, "moor-hound.toml": MOOR, "heath-hound.toml": HEATH}
OTHER_FEN = b'name = "Fen Hound, as we know it by now"'


def put(path: Path, breeds: dict[str, bytes]) -> None:
    """Have exactly these own breed files beside the book, and none from before."""
    folder = path.parent / OWN_BREEDS
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for name, content in breeds.items():
        (folder / name).write_bytes(content)


def own(path: Path) -> dict[str, bytes]:
    """The own breed files beside the book, as the loader would find them."""
    return {file.name: file.read_bytes() for file in (path.parent / OWN_BREEDS).glob("*.toml")}


def put_by(path: Path) -> list[bytes]:
    """What is in those that were replaced."""
    return [file.read_bytes() for file in (path.parent / OWN_BREEDS).glob("*.old")]


def tables(path: Path) -> set[str]:
    return {name for (name,) in table(path, "SELECT name FROM sqlite_master")}


posix = pytest.mark.skipif(os.name == "nt", reason="Windows has other permissions")


# --- backup


def test_a_backup_is_the_same_book_in_one_private_file(path: Path) -> None:
    before = everything(path)
    copy = keeping.backup(path)
    assert copy.read_bytes()[18:20] == b"\1\1", "it can be read where nothing can be written"
    assert copy.parent == path.parent / "copies"
    assert keeping.re.fullmatch(r"book-\d{8}-\d{6}\.db", copy.name)
    assert everything(copy) == everything(path) == before
    assert table(copy, "SELECT * FROM meta") == table(path, "SELECT * FROM meta")
    assert files(copy.parent) == {copy.name}
    if os.name != "nt":
        assert (mode(copy), mode(copy.parent)) == (0o600, 0o700)


def test_two_backups_in_one_second_are_two_files(path: Path) -> None:
    assert len({keeping.backup(path) for _ in range(3)}) == 3


def test_a_backup_goes_where_it_is_told_and_over_nothing(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "mine #1?.db"
    assert keeping.backup(path, target) == target
    assert log(target) == log(path)
    before = target.read_bytes()
    with pytest.raises(BookError, match="already; choose another name"):
        keeping.backup(path, target)
    assert target.read_bytes() == before
    with pytest.raises(BookError, match="The server removes"):
        keeping.backup(path, path.parent / "copies" / "daily-20260101.db")
    with pytest.raises(BookError, match="There is no book in"):
        keeping.backup(tmp_path / "none" / FILE_NAME)
    with pytest.raises(BookError, match="The copy did not work"):
        keeping.backup(path, tmp_path / "no folder" / "mine.db")


def test_backups_while_a_writer_writes(path: Path) -> None:
    """Each copy is the book as it was at one moment, and the writer is never held up."""
    stop = threading.Event()
    failures: list[BaseException] = []

    def write() -> None:
        book = Book(path)
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
        copies = [keeping.backup(path) for _ in range(6)]
    finally:
        stop.set()
        writer.join()
    assert failures == []
    whole = log(path)
    lengths = []
    for copy in copies:
        rows = log(copy)
        assert rows == whole[: len(rows)]
        assert sum("pair" in row[5] for row in rows) % 2 == 0, "no batch is halved"
        lengths.append(len(rows))
    assert lengths == sorted(lengths)
    assert lengths[-1] > lengths[0], "it wrote meanwhile"


def test_a_book_whose_records_do_not_match_its_changes_is_not_copied(path: Path) -> None:
    with closing(sqlite3.connect(path)) as db:
        db.execute("UPDATE dog SET name = 'Nobody wrote this' WHERE name = 'Dog 5'")
        db.commit()
    with pytest.raises(BookError, match=r"do not match its changes.*ringside export"):
        keeping.backup(path)
    assert files(path.parent / "copies") == set()


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
def test_a_disk_that_fills_up_at_any_point_of_a_backup(path: Path) -> None:
    put(path, {"fen-hound.toml": b"#" * 100_000})
    whole = path.stat().st_size + 100_000
    failed = 0
    said: set[str] = set()
    for size in range(0, whole + 1, 16_384):
        try:
            with room(size):
                copy = keeping.backup(path)
        except BookError as error:
            failed += 1
            said.add(str(error))
            assert files(path.parent / "copies") == set()
        else:
            assert everything(copy) == everything(path)
            assert keeping.breeds_in(copy) == own(path)
            copy.unlink()
        assert no_drafts(path.parent)
    assert failed >= whole // 16_384 - 1
    assert all("The copy did not work" in text for text in said)
    assert everything(keeping.backup(path)) == everything(path)


@posix
@pytest.mark.parametrize("greatest", ["in the copy", "in the folder"])
def test_a_disk_that_fills_up_at_any_point_of_a_restore(path: Path, greatest: str) -> None:
    great = b"#" * MOST_OWN_SIZE
    here = great if greatest == "in the folder" else OTHER_FEN
    put(path, {"fen-hound.toml": FEN, "moor-hound.toml": great if here != great else MOOR})
    copy = keeping.backup(path)
    whole = copy.stat().st_size
    restored = everything(copy), own(path)
    write_more(path)
    put(path, {"fen-hound.toml": here})
    before = everything(path), own(path)
    failed = 0
    for size in range(0, whole + MOST_OWN_SIZE, 16_384):
        try:
            with room(size):
                keeping.restore(path, copy)
        except BookError:
            failed += 1
            assert (everything(path), own(path)) == before
            assert put_by(path) == []
        else:
            assert (everything(path), own(path)) == restored
            break
        assert no_drafts(path.parent)
    assert failed >= whole // 16_384 - 1
    keeping.restore(path, copy)
    assert (everything(path), own(path)) == restored
    assert put_by(path) == [here]


# --- restore


def test_a_restore_brings_the_copy_back_and_keeps_the_other(path: Path) -> None:
    copy = keeping.backup(path)
    before = copy.read_bytes()
    write_more(path, 3)
    later = everything(path)
    done = keeping.restore(path, copy)
    assert done.aside
    assert done.aside.parent == path.parent / "copies"
    assert "before-restore" in done.aside.name
    assert everything(done.aside) == later
    assert everything(path) == everything(copy)
    assert copy.read_bytes() == before
    assert not done.is_rebuilt
    assert {FILE_NAME} == {name for name in files(path.parent) if name.startswith("book.db")}
    if os.name != "nt":
        assert (mode(path), mode(done.aside)) == (0o600, 0o600)
    back = keeping.restore(path, done.aside)
    assert back.aside != done.aside
    assert everything(path) == later
    assert no_drafts(path.parent)


def test_a_restore_where_no_book_is(path: Path, tmp_path: Path) -> None:
    new = tmp_path / "new" / FILE_NAME
    done = keeping.restore(new, path)
    assert done == keeping.Restored(None, is_rebuilt=False, has_devices_of_copy=True)
    assert everything(new) == everything(path)
    if os.name != "nt":
        assert (mode(new), mode(new.parent)) == (0o600, 0o700)


def test_a_restored_book_goes_on(path: Path) -> None:
    copy = keeping.backup(path)
    write_more(path)
    book = Book(path)
    with book.session():
        cursor = book.page("").cursor
    book.close()
    keeping.restore(path, copy)
    book = Book(path)
    with book.session():
        assert book.page(cursor).anew, "a phone that was further hears of it"
        book.append([change("Next")], NOW)
        book.append([change("Next")], NOW)
    book.close()


def test_a_restore_from_a_copy_with_its_log_beside_it(path: Path, tmp_path: Path) -> None:
    """Somebody copied the files of a book that was open, all of them."""
    book = Book(path)
    with book.session():
        book.append([change("In the write-ahead log alone")], NOW)
        folder = tmp_path / "by hand"
        folder.mkdir()
        for file in path.parent.glob("book.db*"):
            shutil.copyfile(file, folder / file.name)
    book.close()
    assert (folder / "book.db-wal").stat().st_size
    new = tmp_path / "new" / FILE_NAME
    keeping.restore(new, folder / FILE_NAME)
    assert everything(new) == everything(path)


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
def test_a_file_that_is_no_good_is_refused(path: Path, spoil: Callable[[Path], None]) -> None:
    copy = keeping.backup(path)
    spoil(copy)
    spoiled, before, there = copy.read_bytes(), path.read_bytes(), files(path.parent)
    with pytest.raises(BookError, match=BAD[spoil]):
        keeping.restore(path, copy)
    assert path.read_bytes() == before
    assert copy.read_bytes() == spoiled
    assert files(path.parent) - there <= {keeping.LOCK}


def test_every_page_spoiled_is_noticed_or_harmless(path: Path, tmp_path: Path) -> None:
    """No spoiled copy takes the book's place, unless what it lost is in none of its records."""
    copy = keeping.backup(path)
    whole = copy.read_bytes()
    wanted = everything(copy)
    refused = 0
    for page in range(0, len(whole), 4096):
        copy.write_bytes(whole[:page] + b"\xa5" * 4096 + whole[page + 4096 :])
        new = tmp_path / str(page) / FILE_NAME
        try:
            keeping.restore(new, copy)
        except BookError:
            refused += 1
            assert not new.exists()
        else:
            assert everything(new) == wanted
    assert refused > len(whole) // 4096 * 0.8


def test_the_book_itself_and_no_file_at_all_are_refused(path: Path, tmp_path: Path) -> None:
    with pytest.raises(BookError, match="is the book itself"):
        keeping.restore(path, path)
    with pytest.raises(BookError, match="There is no file"):
        keeping.restore(path, tmp_path / "none.db")


def test_a_copy_whose_records_do_not_match_its_changes_is_made_anew(path: Path) -> None:
    copy = keeping.backup(path)
    with closing(sqlite3.connect(copy)) as db:
        db.execute("DELETE FROM dog WHERE name = 'Dog 5'")
        db.commit()
    before = everything(path)
    assert keeping.restore(path, copy).is_rebuilt
    assert everything(path) == before


@pytest.mark.parametrize("broken", [b"broken" * 1000, b"broken" * 3 + b"\2\2" + b"broken" * 900])
@pytest.mark.parametrize("end", ["", "-wal"])
def test_a_broken_book_can_be_replaced(path: Path, end: str, broken: bytes) -> None:
    """It and what stands beside it go to the copies; nothing of it meets the restored book."""
    copy = keeping.backup(path)
    wanted = everything(copy)
    path.write_bytes(broken)
    Path(f"{path}{end}").write_bytes(broken)
    done = keeping.restore(path, copy)
    assert done.aside
    assert done.aside.read_bytes() == broken
    assert not Path(f"{path}-wal").exists()
    assert Path(f"{done.aside}{end}").exists()
    assert done.has_devices_of_copy
    assert everything(path) == wanted


def test_a_write_ahead_log_left_by_a_kill_is_kept_with_the_old_book(
    path: Path, tmp_path: Path
) -> None:
    """A killed server left changes in -wal: they belong to the old book, not to the restored."""
    copy = keeping.backup(path)
    killed = tmp_path / "killed" / FILE_NAME
    killed.parent.mkdir()
    book = Book(path)
    with book.session():
        book.append([change("Only in the log")], NOW)
        for file in path.parent.glob("book.db*"):
            shutil.copyfile(file, killed.parent / file.name)
    book.close()
    done = keeping.restore(killed, copy)
    assert done.aside
    assert everything(done.aside) == everything(path)
    assert everything(killed) == everything(copy)


STEPS = ["_fetch", "_checked", "_settle", "_is_as_its_log", "_take_devices", "_make_one_file",
         "_set_aside", "_sync", "_sync_folder", "os.replace", "shutil.copyfile"]  # fmt: skip
FULL = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
SQL_FULL = sqlite3.OperationalError("database or disk is full")


@pytest.mark.parametrize("error", [FULL, SQL_FULL, KeyboardInterrupt()], ids=repr)
@pytest.mark.parametrize("is_after", [False, True])
@pytest.mark.parametrize("step", STEPS)
def test_a_restore_that_ends_at_any_step_leaves_a_whole_book(
    path: Path,
    monkeypatch: pytest.MonkeyPatch,
    step: str,
    is_after: bool,
    error: BaseException,
) -> None:
    """Each call of the step fails in turn: before it did anything, or just after it did all."""
    put(path, OWN)
    copy = keeping.backup(path)
    wanted = everything(copy), {**OWN, "marsh-hound.toml": MOOR}
    write_more(path)
    here = {"fen-hound.toml": OTHER_FEN, "heath-hound.toml": HEATH, "marsh-hound.toml": MOOR}
    put(path, here)
    before = everything(path), own(path)
    owner: Any = keeping
    *names, name = step.split(".")
    for part in names:
        owner = getattr(owner, part)
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
                    keeping.restore(path, copy)
            except pytest.fail.Exception:
                assert calls <= turn, "a failure was swallowed"
        now = everything(path), own(path)
        assert now in (before, wanted)
        assert put_by(path) == ([OTHER_FEN] if now == wanted else [])
        assert no_drafts(path.parent)
        if calls <= turn:
            assert turn, "the step was never taken"
            break
        if now == wanted:  # the fault came after the rename: start over
            write_more(path)
            put(path, here)
            before = everything(path), own(path)
    keeping.restore(path, copy)
    assert (everything(path), own(path)) == wanted


KILLED = """
import os, signal, sys
from pathlib import Path
from ringside.book import keeping
path, copy, step, is_after = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3], sys.argv[4]
turn = int(sys.argv[5])
calls = 0
owner = keeping
*names, name = step.split(".")
for part in names:
    owner = getattr(owner, part)
plain = getattr(owner, name)
def die(*given):
    global calls
    calls += 1
    if is_after == "True" or calls <= turn:
        plain(*given)
    if calls > turn:
        os.kill(os.getpid(), signal.SIGKILL)
setattr(owner, name, die)
keeping.restore(path, copy)
"""


@posix
@pytest.mark.parametrize("is_after", [False, True])
@pytest.mark.parametrize(
    ("step", "turn"), [("_settle", 0), ("_set_aside", 0), *(("os.replace", n) for n in range(4))]
)
def test_a_restore_killed_midway(path: Path, step: str, turn: int, is_after: bool) -> None:
    """The book stays; of breed files none is lost, and the same once more brings all."""
    put(path, {"fen-hound.toml": FEN, "moor-hound.toml": MOOR})
    copy = keeping.backup(path)
    wanted = everything(copy)
    put(path, {"fen-hound.toml": OTHER_FEN})
    write_more(path)
    before = everything(path)
    given = [str(path), str(copy), step, str(is_after), str(turn)]
    done = subprocess.run([sys.executable, "-c", KILLED, *given], cwd=ROOT, check=False)
    assert done.returncode == -signal.SIGKILL
    assert everything(path) == before
    assert OTHER_FEN in [own(path)["fen-hound.toml"], *put_by(path)]
    assert own(path)["fen-hound.toml"] in (FEN, OTHER_FEN)
    drafts = list(path.parent.rglob(f".*{keeping.DRAFT}*"))
    foreign = path.parent / ".somebody's.draft"
    foreign.touch()
    for draft in (*drafts, foreign):
        os.utime(draft, (1, 1))
    keeping.restore(path, copy)
    assert everything(path) == wanted
    assert own(path) == {"fen-hound.toml": FEN, "moor-hound.toml": MOOR}
    assert set(put_by(path)) == {OTHER_FEN}
    keeping.backup(path)
    assert drafts
    assert not any(draft.exists() for draft in drafts)
    assert foreign.exists()


def test_a_restore_waits_for_the_server_to_stop(path: Path) -> None:
    copy = keeping.backup(path)
    before = path.read_bytes()
    with keeping.serving(path.parent):
        with pytest.raises(BookError, match="stop `ringside serve` first"):
            keeping.restore(path, copy)
        with keeping.serving(path.parent) if os.name != "nt" else nullcontext():
            pass  # a second server may use the book too
        with pytest.raises(BookError, match="stop `ringside serve` first"):
            keeping.restore(path, copy)
    assert path.read_bytes() == before
    keeping.restore(path, copy)


def test_a_restore_waits_for_any_other_program_that_has_the_book_open(path: Path) -> None:
    copy = keeping.backup(path)
    book = Book(path)
    with book.session():
        book.newest()
        with pytest.raises(BookError, match="stop `ringside serve` first"):
            keeping.restore(path, copy)
        book.append([change("Still mine")], NOW)
    book.close()
    keeping.restore(path, copy)


@posix
def test_no_server_starts_amid_a_restore(path: Path) -> None:
    with (
        keeping._alone(path.parent),
        pytest.raises(BookError, match="being restored"),
        keeping.serving(path.parent),
    ):
        pass


def let_in(book: Book, device: str, role: str = OWNER) -> str:
    devices = Devices(book)
    paired = devices.pair(devices.offer(role, NOW).link, device, "A phone", "10.0.0.1", NOW)
    assert isinstance(paired, Paired)
    return paired.token


def test_a_phone_shut_out_since_the_copy_stays_out(path: Path) -> None:
    book = Book(path)
    with book.session():
        lost = let_in(book, LOST)
        unused = Devices(book).offer(OWNER, NOW)
    copy = keeping.backup(path)
    with book.session():
        Devices(book).revoke(LOST, NOW + 1)
        new = let_in(book, OTHER, HELPER)
    book.close()
    assert not keeping.restore(path, copy).has_devices_of_copy
    book = Book(path)
    with book.session():
        assert Devices(book).holder(lost) == Holder(LOST, OWNER, is_revoked=True)
        assert Devices(book).holder(new) == Holder(OTHER, HELPER, is_revoked=False)
        assert not isinstance(
            Devices(book).pair(unused.link, str(uuid6.uuid7()), "x", "10.0.0.1", NOW), Paired
        )
    book.close()


def test_another_books_copy_brings_its_own_devices(path: Path, tmp_path: Path) -> None:
    other = Book(tmp_path / "other" / FILE_NAME)
    with other.session():
        token = let_in(other, PHONE)
    other.close()
    assert keeping.restore(path, other.path).has_devices_of_copy
    book = Book(path)
    with book.session():
        assert Devices(book).holder(token)
    book.close()
    assert book.id == other.id


# --- own breed files


def test_a_copy_brings_own_breed_files_to_a_new_laptop(path: Path, tmp_path: Path) -> None:
    put(path, OWN)
    (path.parent / OWN_BREEDS / "fen-hound.2026-01-01-000000.toml.old").write_bytes(b"history")
    copy = keeping.backup(path)
    assert keeping.breeds_in(copy) == OWN
    assert keeping.KEPT not in tables(path)
    new = tmp_path / "new" / FILE_NAME
    done = keeping.restore(new, copy)
    assert (set(done.breeds), done.old) == (set(OWN), ())
    assert own(new) == OWN
    assert put_by(new) == []
    assert keeping.KEPT not in tables(new), "the book in use has them in its folder alone"
    assert everything(new) == everything(path)
    if os.name != "nt":
        folder = new.parent / OWN_BREEDS
        assert {mode(folder), *map(mode, folder.iterdir())} == {0o700, 0o600}


def test_a_restore_replaces_what_differs_and_keeps_it_and_leaves_the_rest(path: Path) -> None:
    put(path, {"fen-hound.toml": FEN, "moor-hound.toml": MOOR})
    copy = keeping.backup(path)
    put(path, {"fen-hound.toml": OTHER_FEN, "moor-hound.toml": MOOR, "heath-hound.toml": HEATH})
    later = own(path)
    done = keeping.restore(path, copy)
    assert done.breeds == ("fen-hound.toml",)
    (old,) = done.old
    assert old.read_bytes() == OTHER_FEN
    assert old.name.startswith("fen-hound.20")
    assert old.name.endswith(".toml.old")
    assert own(path) == {**later, "fen-hound.toml": FEN}
    assert done.aside
    assert keeping.breeds_in(done.aside) == later, "the book before it is kept with its own"
    keeping.restore(path, done.aside)
    assert own(path) == later
    assert keeping.restore(path, done.aside).breeds == ()


def test_the_disk_holds_each_file_before_it_takes_its_place(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(path, OWN)
    copy = keeping.backup(path)
    put(path, {"fen-hound.toml": OTHER_FEN})
    synced: list[Path] = []
    renamed: dict[Path, bool] = {}
    sync, rename = keeping._sync, os.replace

    def note(source: Path, target: Path) -> None:
        renamed[target] = source in synced
        rename(source, target)

    monkeypatch.setattr(keeping, "_sync", lambda file: (sync(file), synced.append(file)))
    monkeypatch.setattr(os, "replace", note)
    done = keeping.restore(path, copy)
    monkeypatch.undo()
    assert done.aside
    new = {path.parent / OWN_BREEDS / name for name in OWN}
    assert renamed.keys() == {path, done.aside, *done.old, *new}
    assert all(renamed.values())


def test_a_copy_from_before_there_were_any_in_it_touches_none(path: Path) -> None:
    copy = keeping.backup(path)
    with closing(sqlite3.connect(copy)) as db:
        db.execute(f"DROP TABLE {keeping.KEPT}")
    put(path, OWN)
    assert keeping.breeds_in(copy) == {}
    assert keeping.restore(path, copy).breeds == ()
    assert own(path) == OWN
    assert put_by(path) == []


def test_a_copy_that_was_put_in_place_by_hand_is_copied_with_what_is_in_the_folder(
    path: Path,
) -> None:
    put(path, {"fen-hound.toml": FEN})
    shutil.copyfile(keeping.backup(path), path)
    put(path, {"moor-hound.toml": MOOR})
    assert keeping.breeds_in(keeping.backup(path)) == {"moor-hound.toml": MOOR}


def test_what_is_of_no_use_by_its_name_or_size_is_left_out_and_told(path: Path) -> None:
    great = b"#" * (MOST_OWN_SIZE + 1)
    put(path, {"Fen Hound.toml": FEN, "great.toml": great, "just.toml": great[1:]})
    (path.parent / OWN_BREEDS / "folder.toml").mkdir()
    copy = keeping.backup(path)
    assert set(keeping.breeds_in(copy)) == {"just.toml"}
    problems: list[str] = []
    keeping.own_breeds(path, problems)
    told = "\n".join(problems)
    assert set(problems) <= set(load(own=path.parent / OWN_BREEDS).set_aside), "one rule for both"
    for words in ("Fen Hound.toml", "great.toml: is too large", "folder.toml: cannot be read"):
        assert words in told
    # What stands in the way of a file is never overwritten unseen either.
    put(path, {"just.toml": great})
    (old,) = keeping.restore(path, copy).old
    assert old.read_bytes() == great
    put(path, {})
    (path.parent / OWN_BREEDS / "just.toml").mkdir()
    write_more(path)
    before = everything(path)
    with pytest.raises(BookError, match=r"just\.toml.*left as it was\. Mend that and try again"):
        keeping.restore(path, copy)
    assert everything(path) == before


def test_as_many_as_are_used_are_kept_and_come_back(path: Path, tmp_path: Path) -> None:
    put(path, {f"b{number:04}.toml": b"" for number in range(MOST_OWN_FILES + 2)})
    problems: list[str] = []
    assert len(keeping.own_breeds(path, problems)) == MOST_OWN_FILES
    assert len(problems) == 2
    assert "there are more than" in problems[0]
    new = tmp_path / "new" / FILE_NAME
    assert len(keeping.restore(new, keeping.backup(path)).breeds) == MOST_OWN_FILES


def plant(copy: Path, *rows: tuple[Any, Any], make: str = "(name, content)") -> None:
    with closing(sqlite3.connect(copy)) as db:
        db.execute(f"DROP TABLE {keeping.KEPT}")
        db.execute(f"CREATE TABLE {keeping.KEPT} {make}")
        marks = ", ".join("?" * len(rows[0])) if rows else ""
        db.executemany(f"INSERT INTO {keeping.KEPT} VALUES ({marks})", rows)
        db.commit()


def plant_a_view(copy: Path) -> None:
    with closing(sqlite3.connect(copy)) as db:
        db.execute(f"DROP TABLE {keeping.KEPT}")
        db.execute(
            f"CREATE VIEW {keeping.KEPT} AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL "
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
def test_a_hostile_copy_is_refused_and_does_no_harm(path: Path, case: str, tmp_path: Path) -> None:
    copy = keeping.backup(path, tmp_path / "hostile.db")
    HOSTILE[case](copy)
    put(path, {"fen-hound.toml": OTHER_FEN})
    before, there = everything(path), files(tmp_path)
    reason = FORESEEN.get(case, "")
    with pytest.raises(
        BookError, match=f"is broken: .*{reason}.* Nothing was .*; use another copy"
    ):
        keeping.restore(path, copy)
    assert everything(path) == before
    assert own(path) == {"fen-hound.toml": OTHER_FEN}
    assert files(tmp_path) - there <= {f"data/{keeping.LOCK}"}


def test_a_broken_book_is_replaced_with_its_breed_files_kept_beside(path: Path) -> None:
    put(path, {"fen-hound.toml": FEN})
    copy = keeping.backup(path)
    put(path, {"fen-hound.toml": OTHER_FEN})
    path.write_bytes(b"broken" * 1000)
    done = keeping.restore(path, copy)
    assert done.aside
    assert done.aside.read_bytes() == b"broken" * 1000
    assert (own(path), put_by(path)) == ({"fen-hound.toml": FEN}, [OTHER_FEN])


def test_a_book_too_broken_to_hold_them_is_set_aside_as_it_is(path: Path) -> None:
    """It can be opened, and yet nothing can be added to it."""
    copy = keeping.backup(path)
    put(path, {"fen-hound.toml": OTHER_FEN})
    with closing(sqlite3.connect(path)) as db:
        db.execute(f"CREATE VIEW {keeping.KEPT} AS SELECT 1")
    before = everything(path)
    done = keeping.restore(path, copy)
    assert done.aside
    assert everything(done.aside) == before
    assert everything(path) == everything(copy)
    assert no_drafts(path.parent)


# --- daily copies


def test_one_copy_a_day_and_the_last_fourteen_are_kept(path: Path) -> None:
    mine = [keeping.backup(path), keeping.backup(path, path.parent / "copies" / "daily.db")]
    made = [keeping.daily(path, TODAY + timedelta(days)) for days in range(20)]
    assert all(made)
    assert keeping.daily(path, TODAY + timedelta(19)) is None
    kept = {copy.name for copy in [*mine, *made[-14:]] if copy}
    assert files(path.parent / "copies") == kept
    assert everything(made[-1] or path) == everything(path)
    if os.name != "nt":
        assert mode(made[-1] or path) == 0o600


def test_a_clock_set_back_does_not_cost_the_new_copy(path: Path) -> None:
    for days in range(14):
        keeping.daily(path, TODAY + timedelta(days))
    early = keeping.daily(path, TODAY - timedelta(400))
    assert early
    assert early.exists()


def test_an_empty_book_is_not_copied(tmp_path: Path) -> None:
    book = Book(tmp_path / FILE_NAME)
    book.close()
    assert keeping.daily(book.path, TODAY) is None
    assert list(tmp_path.iterdir()) == [book.path]
    put(book.path, OWN)
    copy = keeping.daily(book.path, TODAY)
    assert copy
    assert keeping.breeds_in(copy) == OWN


def test_a_thread_keeps_the_copies(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[date] = []
    days = (TODAY + timedelta(days) for days in itertools.count())

    class Days:
        today = staticmethod(lambda: next(days))

    monkeypatch.setattr(keeping, "date", Days)
    monkeypatch.setattr(keeping, "LOOK_EVERY", 0.01)
    monkeypatch.setattr(keeping, "daily", lambda _, today, *__: made.append(today))
    with keeping.kept_daily(path):
        until(lambda: len(made) >= 3, "three copies were made")
    assert made[:3] == [TODAY + timedelta(days) for days in range(3)]
    assert "daily copies" not in {thread.name for thread in threading.enumerate()}


def test_a_daily_copy_that_fails_is_told_and_does_not_end_the_server(
    path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(*_: Any) -> None:
        raise FULL

    monkeypatch.setattr(keeping, "_sync", full)
    monkeypatch.setattr(keeping, "LOOK_EVERY", 0.01)
    said = ""

    def is_told_again() -> bool:
        nonlocal said
        said += capsys.readouterr().err
        return said.count("The daily copy did not work") > 1

    with keeping.kept_daily(path):
        until(is_told_again, "it was tried again, and told again")
    assert "Make room on the disk" in said
    assert files(path.parent / "copies") == set()


# --- an older format


@pytest.fixture
def old(path: Path) -> Path:
    """A book of a format that never was."""
    with closing(sqlite3.connect(path)) as db:
        db.execute("UPDATE meta SET value = '0' WHERE key = 'format'")
        db.execute('ALTER TABLE dog RENAME COLUMN "name" TO "called"')
        db.commit()
    return path


def rename_back(db: sqlite3.Connection) -> None:
    db.execute('ALTER TABLE dog RENAME COLUMN "called" TO "name"')


def test_an_older_format_is_brought_on_after_a_copy(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = log(old)
    monkeypatch.setitem(keeping.MIGRATIONS, 0, rename_back)
    book = Book(old)
    with book.session():
        assert "Dog 5" in {dog["name"] for dog in book.records("dog").values()}
        book.append([change("New")], NOW)
    book.close()
    (copy,) = (old.parent / "copies").iterdir()
    assert f"before-format-{FORMAT}" in copy.name
    assert log(copy) == before
    assert table(copy, "SELECT value FROM meta WHERE key = 'format'") == [("0",)]
    assert "called" in {row[1] for row in table(copy, "PRAGMA table_info(dog)")}
    assert table(old, "SELECT value FROM meta WHERE key = 'format'") == [(str(FORMAT),)]
    Book(old).close()
    assert len(list((old.parent / "copies").iterdir())) == 1, "once is enough"
    # The way back to the older book, which is then brought on again.
    keeping.restore(old, copy)
    book = Book(old)
    with book.session():
        assert len(book.records("dog")) == 40
    book.close()


def test_a_migration_that_fails_leaves_the_older_book(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def half(db: sqlite3.Connection) -> None:
        rename_back(db)
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setitem(keeping.MIGRATIONS, 0, half)
    before = log(old), table(old, "SELECT * FROM dog"), table(old, "SELECT * FROM sqlite_master")
    with pytest.raises(BookError, match=r"left as it was\. Make room"):
        Book(old)
    after = log(old), table(old, "SELECT * FROM dog"), table(old, "SELECT * FROM sqlite_master")
    assert after == before


def test_no_migration_without_its_copy(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: Any) -> None:
        raise FULL

    called: list[Any] = []
    monkeypatch.setitem(keeping.MIGRATIONS, 0, called.append)
    monkeypatch.setattr(keeping, "_copy", full)
    with pytest.raises(BookError, match="Make room"):
        Book(old)
    assert called == []


def test_a_format_nobody_can_bring_on_is_left_alone(old: Path) -> None:
    before = old.read_bytes()
    with pytest.raises(BookError, match="of format 0, which this version cannot read"):
        Book(old)
    assert old.read_bytes() == before
    assert files(old.parent) == {FILE_NAME}


# --- JSON


def test_an_export_taken_into_an_empty_book_gives_the_same_book(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    put(path, OWN)
    assert keeping.export(path, target) == keeping.Exported(len(log(path)), 3)
    new = tmp_path / "new" / FILE_NAME
    names = tuple(sorted(OWN))
    assert keeping.import_(new, target) == keeping.Imported(len(log(path)), 0, names)
    assert everything(new) == everything(path)
    assert own(new) == OWN
    assert any(row[6] != row[7] for row in log(new)), "raw stamps among them"
    book = Book(new)
    with book.session():
        assert keeping._is_as_its_log(book)
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
    book = Book(tmp_path / FILE_NAME)
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
    keeping.export(book.path, target)
    new = tmp_path / "new" / FILE_NAME
    assert keeping.import_(new, target).new > 20
    assert everything(new) == everything(book.path)
    assert any(row[6] != row[7] for row in log(new))


def test_an_import_leaves_a_breed_file_that_differs_and_says_so(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    put(path, {"fen-hound.toml": FEN, "moor-hound.toml": MOOR, "heath-hound.toml": HEATH})
    keeping.export(path, target)
    put(path, {"fen-hound.toml": OTHER_FEN, "heath-hound.toml": HEATH})
    done = keeping.import_(path, target)
    assert (done.breeds, done.differing) == (("moor-hound.toml",), ("fen-hound.toml",))
    assert own(path) == {**OWN, "fen-hound.toml": OTHER_FEN}
    assert put_by(path) == []


def test_an_export_without_breed_files_is_taken_as_before(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    number = keeping.export(path, target).changes
    data = json.loads(target.read_text(encoding="utf-8"))
    assert data.pop("breeds") == {}
    target.write_text(json.dumps(data), encoding="utf-8")
    new = tmp_path / "new" / FILE_NAME
    assert keeping.import_(new, target) == keeping.Imported(number, 0)


def test_an_import_that_fails_puts_no_breed_file_there(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: Any) -> None:
        raise FULL

    target = tmp_path / "all.json"
    put(path, OWN)
    keeping.export(path, target)
    new = tmp_path / "new" / FILE_NAME
    with monkeypatch.context() as patch:
        patch.setattr(keeping, "_take_apart", full)
        with pytest.raises(BookError, match="Make room"):
            keeping.import_(new, target)
    assert (log(new), own(new)) == ([], {})
    keeping.import_(new, target)
    assert own(new) == OWN


def test_taken_in_again_nothing_is_doubled(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    number = keeping.export(path, target).changes
    before = everything(path)
    for _ in range(2):
        assert keeping.import_(path, target) == keeping.Imported(0, number)
    assert everything(path) == before


def test_the_same_book_takes_in_what_it_lacks(path: Path, tmp_path: Path) -> None:
    copy = keeping.backup(path)
    write_more(path, 3)
    wanted = everything(path)
    target = tmp_path / "all.json"
    keeping.export(path, target)
    keeping.restore(path, copy)
    assert keeping.import_(path, target).new == 3
    assert everything(path) == wanted


def test_another_book_is_not_mixed_in(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    keeping.export(path, target)
    other = tmp_path / "other" / FILE_NAME
    write_more(other)
    before = everything(other)
    with pytest.raises(BookError, match=r"of another book.*Name an empty folder"):
        keeping.import_(other, target)
    assert everything(other) == before


def test_an_import_waits_for_the_server_to_stop(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    keeping.export(path, target)
    with (
        keeping.serving(path.parent),
        pytest.raises(BookError, match="stop `ringside serve` first"),
    ):
        keeping.import_(path, target)


def test_an_export_holds_no_secret_and_goes_over_nothing(path: Path, tmp_path: Path) -> None:
    book = Book(path)
    with book.session():
        token = let_in(book, PHONE)
        secret = book.secret
    book.close()
    target = tmp_path / "all.json"
    keeping.export(path, target)
    text = target.read_text(encoding="utf-8")
    assert secret not in text
    assert token not in text
    assert "token" not in text
    with pytest.raises(BookError, match="already; choose another name"):
        keeping.export(path, target)
    assert target.read_text(encoding="utf-8") == text


def spoiled(data: dict[str, Any]) -> Iterator[tuple[str, Any, str]]:
    changes = data["changes"]

    def with_last(**given: Any) -> dict[str, Any]:
        return {**data, "changes": [*changes[:-1], {**changes[-1], **given}]}

    yield "list", [], "not an export"
    yield "no mark", {**data, "ringside": "x"}, "not an export"
    yield "newer", {**data, "format": 2}, "newer version; update"
    yield "format of no type", {**data, "format": "1"}, "not an export"
    yield "format true", {**data, "format": True}, "not an export"
    yield "book", {**data, "book": "x"}, "not an export"
    yield "book of no type", {**data, "book": None}, "not an export"
    no_breed = "no breed file of one's own. Nothing was changed; export it anew"
    fen = "fen-hound.toml"
    too_many = {f"b{number}.toml": "" for number in range(MOST_OWN_FILES + 1)}
    too_large = {fen: "x" * (MOST_OWN_SIZE + 1)}
    unfit = {fen: 1}, {fen: "\ud800"}, {"../x.toml": ""}, {"fen-hound": ""}
    for breeds in (None, [], *unfit, too_large, too_many):
        yield f"breeds {str(breeds)[:40]}", {**data, "breeds": breeds}, no_breed
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
    yield "a value too long", with_last(value="x" * 999), "Nothing was changed"
    yield "an unknown kind", with_last(kind="cat"), "update the server's program"
    yield "a raw stamp", with_last(raw="now"), "raw stamp is malformed"
    yield "received", with_last(received=-1), "moment of arrival"
    yield "received of no type", with_last(received=1.5), "moment of arrival"
    yield "stamp", with_last(stamp="x"), "stamp is malformed"
    yield "base", with_last(base=changes[-1]["stamp"]), "newer than itself|out of order"


def test_a_spoiled_export_changes_nothing(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    keeping.export(path, target)
    data = json.loads(target.read_text(encoding="utf-8"))
    new = tmp_path / "new" / FILE_NAME
    Book(new).close()
    before = everything(new)
    for case, bad, words in spoiled(data):
        target.write_text(json.dumps(bad), encoding="utf-8")
        with pytest.raises(BookError, match=words):
            keeping.import_(new, target)
        assert everything(new) == before, case
    for content in (b"", b"{", b"\xff\xfe", b"[" * 100_000):
        target.write_bytes(content)
        with pytest.raises(BookError, match="not whole JSON"):
            keeping.import_(new, target)
    with pytest.raises(BookError, match="The import did not work"):
        keeping.import_(new, tmp_path / "none.json")
    assert everything(new) == before


def test_an_id_that_means_something_else_here_is_refused(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    keeping.export(path, target)
    data = json.loads(target.read_text(encoding="utf-8"))
    data["changes"][3]["value"] = "Another"
    target.write_text(json.dumps(data), encoding="utf-8")
    before = everything(path)
    with pytest.raises(BookError, match="another change under the id"):
        keeping.import_(path, target)
    assert everything(path) == before


@posix
def test_a_disk_that_fills_up_at_any_point_of_export_and_import(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "all.json"
    number = keeping.export(path, target).changes
    for size in range(0, target.stat().st_size, 3000):
        with pytest.raises(BookError), room(size):
            keeping.export(path, tmp_path / "full.json")
        assert not (tmp_path / "full.json").exists()
        assert no_drafts(tmp_path)
    new = tmp_path / "new" / FILE_NAME
    Book(new).close()
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
    assert everything(new) == everything(path)


# --- CSV


def test_the_records_as_csv(path: Path, tmp_path: Path) -> None:
    book = Book(path)
    with book.session():
        records = {kind: book.records(kind) for kind in KINDS}
    book.close()
    folder = tmp_path / "csv"
    number = keeping.export_csv(path, folder)
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
        keeping.export_csv(path, folder)
    (tmp_path / "empty").mkdir()
    assert keeping.export_csv(path, tmp_path / "empty") == number


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        ('=HYPERLINK("http://x.example")', True),
        ("+1", True),
        ("-1", True),
        ("@SUM(A1)", True),
        ("  =1", True),
        ("＝1", True),
        ("\t=1", True),
        ("\n=1", True),
        (["=1", "b"], "'=1; b"),
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
    assert keeping._cell(value) == wanted


def test_a_csv_export_that_fails_leaves_nothing(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: Any) -> None:
        raise FULL

    monkeypatch.setattr(keeping, "_write_kind", full)
    with pytest.raises(BookError, match="Make room"):
        keeping.export_csv(path, tmp_path / "csv")
    assert {entry.name for entry in tmp_path.iterdir()} == {"data"}


# --- the command


def test_the_commands(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = ["--data", str(path.parent)]
    put(path, {**OWN, "Fen.toml": b""})
    copy, whole, table_folder = (str(tmp_path / name) for name in ("c.db", "all.json", "csv"))
    assert cli.main(["backup", *data]) == 0
    assert cli.main(["backup", copy, *data]) == 0
    write_more(path)
    put(path, {"fen-hound.toml": OTHER_FEN})
    assert cli.main(["restore", copy, *data]) == 0
    assert cli.main(["export", whole, *data]) == 0
    assert cli.main(["export", table_folder, "--csv", *data]) == 0
    assert cli.main(["import", whole, "--data", str(tmp_path / "new")]) == 0
    said = capsys.readouterr().out
    for words in ("Copied and checked: ", "Restored: ", "is kept: ", " changes in ",
                  " records in ", "changes taken in", "Own breed files copied with it: 3",
                  "'Fen.toml': the file's name", "Own breed files put back: 3",
                  "One of them differed; the file before it is kept: ", ".toml.old",
                  "Own breed files in it: 3", "Own breed files taken in: 3"):  # fmt: skip
        assert words in said
    assert everything(tmp_path / "new" / FILE_NAME) == everything(path)
    assert cli.main(["restore", whole, *data]) == 2
    assert "not a book of Ringside's" in capsys.readouterr().err
    put(path, {"fen-hound.toml": OTHER_FEN})
    assert cli.main(["import", whole, *data]) == 0
    assert "fen-hound.toml is another one; it was left" in capsys.readouterr().out


@posix
def test_no_phone_is_invited_amid_a_restore(
    path: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The code would be in the book that goes."""
    book = Book(path)
    with book.session():
        Devices(book).served_at("http://localhost:8470/")
    book.close()
    pair = ["pair", "--data", str(path.parent)]
    before = table(path, "SELECT * FROM code")
    with keeping._alone(path.parent):
        assert cli.main(pair) == 2
    assert "try again afterwards" in capsys.readouterr().err
    assert table(path, "SELECT * FROM code") == before
    with keeping.serving(path.parent):
        assert cli.main(pair) == 0
    assert table(path, "SELECT * FROM code") != before
    assert cli.main(["pair", "--data", str(tmp_path / "none")]) == 2
    assert not (tmp_path / "none").exists()


@posix
def test_a_server_keeps_the_book_and_its_daily_copy(path: Path) -> None:
    """The real server: a copy at its start, a backup while it runs, no restore until it stops."""
    port = free_port()
    ringside = [sys.executable, "-m", "ringside"]
    data = ["--data", str(path.parent)]
    server = subprocess.Popen(
        [*ringside, "serve", *data, "--port", str(port), "--no-browser"],
        cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    copies = path.parent / "copies"
    try:
        until(lambda: list(copies.glob("daily-*.db")) or server.poll() is not None)
        (kept,) = copies.glob("daily-*.db")
        assert log(kept) == log(path)
        assert cli.main(["backup", *data]) == 0
        assert cli.main(["restore", str(kept), *data]) == 2
    finally:
        server.terminate()
        _, said = server.communicate(timeout=PATIENCE)
    assert server.returncode == 0, said
    assert cli.main(["restore", str(kept), *data]) == 0
