"""Keeping the book: copies of it, the way back from one, and all of it as JSON or CSV.

Whatever is written here is first written whole to a draft, checked, and then renamed, so that a
full disk or a kill at any moment leaves the file that was there, or the new one, never a part.

`copies/` beside the book holds its copies. Those named `daily-<day>.db` are made and removed by
the server; every other one is somebody's own and is never removed. A copy is always an SQLite file,
whichever database the book is in, so that it can be put into the other kind too. Where functions
take a `path` and a `database`, they are those of `Book`.

The handler's own breed files, which stand beside the book whichever database it is in, travel with
it: in a table of the copy that no book in use has, and in an export by their names.
"""

from __future__ import annotations

import csv
import errno
import hashlib
import json
import os
import re
import secrets
import shutil
import sqlite3
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, closing, contextmanager, nullcontext, suppress
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import count
from pathlib import Path
from typing import Any

from peewee import BooleanField, DatabaseError, Model

from ringside.book import changes as rules
from ringside.book import clock, devices, store
from ringside.book.databases import Postgres
from ringside.book.fields import UUID
from ringside.book.models import FIELDS, KINDS, TABLES
from ringside.book.sheets import guarded
from ringside.book.store import Book, BookError
from ringside.knowledge.own import (
    MOST_OWN_FILES,
    MOST_OWN_SIZE,
    OWN_BREEDS,
    is_own_file,
    own_content,
    own_entries,
)

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

COPIES = "copies"
LOCK = "in-use.lock"
DRAFT = ".ringside-draft"
DAILY = re.compile(r"daily-[0-9]{8}\.db")
MOST_DAILY = 14
LOOK_EVERY = 600  # seconds
STALE = 24 * 3600  # seconds after which nobody writes a draft any more
MAGIC = b"SQLite format 3\0"
SIDES = ("-wal", "-shm", "-journal")
KEPT = "kept_file"  # the table of a copy that holds own breed files

EXPORT_FORMAT = 1
ANEW = "Nothing was changed; export it anew, or name another file."
COLUMNS = (*rules.KEYS, "raw", "received")
BATCH = 5000

# From each older format, the step to the next one, within a transaction that `migrate` holds.
# It is given a connection, whose `execute` both databases have.
MIGRATIONS: dict[int, Callable[[Any], None]] = {}

# Own breed files by their names, with what is in them.
Breeds = dict[str, bytes]


class _Undo(Exception):
    """Leaves a transaction without its changes."""


@dataclass(frozen=True)
class Facts:
    """What a file says of the book in it."""

    id: str
    secret: str
    format: int
    newest: int


@dataclass(frozen=True)
class Restored:
    """What became of a restore: where the book before it is now, and what to know of it.

    `breeds` are the own breed files that were put in the folder, `old` where those they replaced
    are now.
    """

    aside: Path | None
    is_rebuilt: bool
    has_devices_of_copy: bool
    breeds: tuple[str, ...] = ()
    old: tuple[Path, ...] = ()


@dataclass(frozen=True)
class Exported:
    """How many changes an export holds, and how many own breed files."""

    changes: int
    breeds: int


@dataclass(frozen=True)
class Imported:
    """How many changes an import added, and how many the book had already.

    `breeds` are the own breed files it added, `differing` those left as they are here.
    """

    new: int
    known: int
    breeds: tuple[str, ...] = ()
    differing: tuple[str, ...] = ()


# --- files


@contextmanager
def _told(what: str, *more: type[Exception]) -> Iterator[None]:
    """Turn what the system or the database says into a sentence with what to do."""
    expected: tuple[type[Exception], ...] = (OSError, sqlite3.Error, DatabaseError, *more)
    try:
        yield
    except expected as error:
        reason = str(error)
        is_full = "full" in reason
        if isinstance(error, OSError):
            is_full = error.errno in (errno.ENOSPC, errno.EDQUOT)
            reason = f"{error.strerror or error}{f': {error.filename}' if error.filename else ''}"
        advice = "Make room on the disk" if is_full else "Mend that"
        raise BookError(
            f"{what} did not work ({reason}); the book was left as it was. {advice} and try again."
        ) from error


@contextmanager
def _draft(target: Path) -> Iterator[Path]:
    """Give a new private file beside `target`, which it becomes unless something goes wrong."""
    with _scratch(target) as draft:
        yield draft
        _sync(draft)
        os.replace(draft, target)
        _sync_folder(target.parent)


@contextmanager
def _scratch(path: Path) -> Iterator[Path]:
    """Give a new private file beside `path`, which is gone afterwards."""
    _clear_stale(path.parent)
    draft = _draft_name(path)
    try:
        os.close(os.open(draft, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        yield draft
    finally:
        for end in ("", *SIDES):
            with suppress(OSError):
                Path(f"{draft}{end}").unlink()


def _draft_name(target: Path) -> Path:
    return target.with_name(f".{target.name}.{secrets.token_hex(6)}{DRAFT}")


def _clear_stale(folder: Path) -> None:
    """Remove what a killed process left half written."""
    for draft in folder.glob(f".*{DRAFT}*"):
        with suppress(OSError):
            if abs(time.time() - draft.stat().st_mtime) > STALE:
                draft.unlink()


def _sync(path: Path) -> None:
    """Have the disk hold what was written."""
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _sync_folder(folder: Path) -> None:
    """Have the disk hold a new name, where that is possible; the rename is done either way."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _private_folder(folder: Path) -> None:
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)


def _free_name(folder: Path, stem: str) -> Path:
    path, number = folder / f"{stem}.db", 1
    while path.exists():
        number += 1
        path = folder / f"{stem}-{number}.db"
    return path


def _named_now(path: Path, more: str = "") -> Path:
    """Return a free name in the copies of the book at `path`, by the present."""
    folder = path.parent / COPIES
    _private_folder(folder)
    return _free_name(folder, f"book-{datetime.now():%Y%m%d-%H%M%S}{more}")


def old_name(path: Path) -> Path:
    """Return a free name beside a breed file that tells when it was put by."""
    now = datetime.now().strftime("%Y-%m-%d-%H%M%S")
    names = (f"{path.stem}.{now}{f'-{again}' if again else ''}.toml.old" for again in count())
    return next(place for name in names if not (place := path.with_name(name)).exists())


# --- who uses the book


@contextmanager
def serving(data: Path, database: str = "") -> Iterator[None]:
    """Show others that the book is in use. Raises BookError if it is replaced now."""
    with _locked(data, True, database) as is_ours:
        # Windows cannot tell a second server from a restore.
        if not is_ours and (database or os.name != "nt"):
            raise BookError("This book is being restored or imported; try again afterwards.")
        yield


@contextmanager
def _alone(data: Path, database: str = "") -> Iterator[None]:
    with _locked(data, False, database) as is_ours:
        if not is_ours:
            raise BookError(_stop(data))
        yield


def _stop(data: Path) -> str:
    return f"The book in {data} is in use; stop `ringside serve` first, then try again."


@contextmanager
def _locked(data: Path, is_shared: bool, database: str = "") -> Iterator[bool]:
    """Hold the lock of the database, or else of the folder; whether it is ours.

    Where there are no locks it always is.
    """
    if database:
        server = store.server(database)
        try:
            lock = server.lock(is_shared)
        except server.errors as error:
            raise BookError(store.out_of_reach(server.shown, error)) from error
        with closing(lock) if lock else nullcontext():
            yield lock is not None
        return
    try:
        _private_folder(data)
        handle = os.open(data / LOCK, os.O_CREAT | os.O_RDWR, 0o600)
    except OSError:  # the book itself will say what is wrong with the folder
        yield True
        return
    try:
        yield _try_lock(handle, is_shared)
    finally:
        os.close(handle)


def _try_lock(handle: int, is_shared: bool) -> bool:
    try:
        if sys.platform == "win32":
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(handle, (fcntl.LOCK_SH if is_shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)
    except OSError as error:
        return error.errno not in (errno.EAGAIN, errno.EACCES, errno.EDEADLK)
    return True


# --- looking into a file


def _open(path: Path, mode: str = "rw") -> closing[sqlite3.Connection]:
    uri = f"{path.absolute().as_uri()}?mode={mode}"
    return closing(sqlite3.connect(uri, uri=True, timeout=10, isolation_level=None))


def _facts(db: sqlite3.Connection, path: Path) -> Facts:
    """Return what the book says of itself. Raises BookError if it is none, or too new."""
    tables = {name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    said: dict[str, str] = {}
    if {"meta", "change"} <= tables:
        with suppress(sqlite3.OperationalError):  # other columns: another program's
            said = dict(db.execute("SELECT key, value FROM meta"))
    number = str(said.get("format", ""))
    if not (number.isascii() and number.isdecimal()) or not said.get("id"):
        raise BookError(_foreign(path))
    if int(number) > store.FORMAT:
        raise BookError(f"{path} was written by a newer version; update Ringside first.")
    newest = db.execute("SELECT COALESCE(MAX(seq), 0) FROM change").fetchone()[0]
    return Facts(str(said["id"]), str(said.get("secret", "")), int(number), newest)


def _foreign(path: Path) -> str:
    return f"{path} is not a book of Ringside's; nothing was changed. Name another file."


def _checked(draft: Path, named: Path) -> Facts:
    """Return the facts of a whole file; `named` is what a person knows it by."""
    with draft.open("rb") as file:
        if file.read(len(MAGIC)) != MAGIC:
            raise BookError(_foreign(named))
    with _broken_told(named), _open(draft) as db:
        facts = _facts(db, named)
        found = [row[0] for row in db.execute("PRAGMA integrity_check(3)")]
    if found != ["ok"]:
        raise BookError(_broken(named, "; ".join(map(str, found))))
    return facts


@contextmanager
def _broken_told(named: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.DatabaseError as error:
        if _is_for_want_of_room(error):
            raise
        raise BookError(_broken(named, error)) from error


def _broken(named: Path, reason: object) -> str:
    return f"{named} is broken: {reason}. Nothing was changed; use another copy."


def _is_for_want_of_room(error: sqlite3.Error) -> bool:
    name = getattr(error, "sqlite_errorname", "")
    return name == "SQLITE_FULL" or name.startswith(("SQLITE_IOERR", "SQLITE_CANTOPEN"))


def _digest(book: Book) -> dict[str, str]:
    """Return a hash of each kind's rows."""
    found = {}
    for kind, model in KINDS.items():
        columns = ", ".join(f'"{name}"' for name in ("id", "cells", *FIELDS[kind]))
        sql = f'SELECT {columns} FROM "{model._meta.table_name}" ORDER BY id'
        summed = hashlib.sha256()
        for row in book.rows(sql):
            summed.update(repr(row).encode(errors="replace"))
        found[kind] = summed.hexdigest()
    return found


def _is_as_its_log(book: Book) -> bool:
    """Whether projecting the log anew gives what stands there; changes nothing."""
    before = _digest(book)
    after: dict[str, str] = {}
    with suppress(_Undo), book.writing():
        book.rebuild()
        after = _digest(book)
        raise _Undo
    return before == after


@contextmanager
def _opened(path: Path, database: str = "") -> Iterator[Book]:
    book = Book(path, database)
    try:
        with book.session():
            yield book
    finally:
        book.close()


def _make_one_file(path: Path) -> None:
    """Fold the write-ahead log into the book, so that it is one file."""
    with _open(path) as db:
        db.execute("PRAGMA journal_mode = delete").fetchone()


def need(path: Path, database: str) -> None:
    """Raise BookError where there is no book."""
    if not database and not path.is_file():
        raise BookError(f"There is no book in {path.parent}; name the folder that holds one.")


# --- own breed files


def own_breeds(path: Path, problems: list[str] | None = None) -> Breeds:
    """Return the own breed files beside the book at `path`.

    Of those that are of no use by name, size or number, or cannot be read, `problems` tell.
    """
    told = [] if problems is None else problems
    found = {
        entry.name: own_content(entry, told)
        for entry in own_entries(path.parent / OWN_BREEDS, told)
    }
    return {name: content for name, content in found.items() if content is not None}


def breeds_in(copy: Path, named: Path | None = None) -> Breeds:
    """Return the own breed files in a copy, which people call `named`.

    Raises BookError if there is anything that no copy of ours holds.
    """
    named = named or copy
    found: Breeds = {}
    with _broken_told(named), _open(copy, "ro") as db:
        # Else a few bytes could say that they are a gigabyte.
        db.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, 2 * MOST_OWN_SIZE)
        kinds = db.execute("SELECT type FROM sqlite_master WHERE name = ?", (KEPT,)).fetchall()
        if not kinds:
            return found
        if kinds != [("table",)]:
            raise BookError(_broken(named, "what should hold breed files does not"))
        for name, content in db.execute(f"SELECT name, content FROM {KEPT}"):
            if not _is_own(name, content) or len(found) == MOST_OWN_FILES:
                raise BookError(_broken(named, "it holds what is no breed file of one's own"))
            found[name] = content
    return found


def _is_own(name: Any, content: Any) -> bool:
    return (
        isinstance(name, str)
        and is_own_file(name)
        and isinstance(content, bytes)
        and len(content) <= MOST_OWN_SIZE
    )


def _keep_breeds(copy: Path, breeds: Breeds | None) -> None:
    """Have a copy hold exactly these own breed files; with None it is as a book in use."""
    with _open(copy) as db:
        db.execute("BEGIN IMMEDIATE")
        db.execute(f"DROP TABLE IF EXISTS {KEPT}")
        if breeds is not None:
            db.execute(f"CREATE TABLE {KEPT} (name TEXT PRIMARY KEY, content BLOB NOT NULL)")
            db.executemany(f"INSERT INTO {KEPT} VALUES (?, ?)", breeds.items())
        db.execute("COMMIT")


@contextmanager
def _placed(path: Path, breeds: Breeds, draft: Path | None = None) -> Iterator[list[Path]]:
    """Put own breed files beside the book; give where those that they replace are now.

    If what is done within fails they are as they were, unless `draft` has become the book. A kill
    may leave some of them new beside the old book: then those before them are there as well, and
    the same once more brings the rest.
    """
    with ExitStack() as drafts:
        placing = {}
        for name, content in breeds.items():
            place = path.parent / OWN_BREEDS / name
            _private_folder(place.parent)
            new = drafts.enter_context(_scratch(place))
            new.write_bytes(content)
            _sync(new)
            placing[place] = new
        old = {place: old_name(place) for place in placing if place.exists()}
        try:
            for place, aside in old.items():
                with _draft(aside) as copied:
                    shutil.copyfile(place, copied)
            for place, new in placing.items():
                os.replace(new, place)
            if placing:
                _sync_folder(path.parent / OWN_BREEDS)
            yield list(old.values())
        except BaseException:
            if draft is None or draft.exists():
                for place, new in placing.items():
                    _take_back(place, new, old.get(place))
            raise


def _take_back(place: Path, new: Path, old: Path | None) -> None:
    """Undo one of `_placed`, however far it got."""
    with suppress(OSError):  # the others' turn comes all the same
        if new.exists():
            if old:
                old.unlink(missing_ok=True)
        elif old:
            os.replace(old, place)
        else:
            place.unlink()


def _differing(path: Path, breeds: Breeds) -> Breeds:
    """Return those that are not beside the book as they are in `breeds`."""
    here = own_breeds(path)
    return {name: content for name, content in breeds.items() if here.get(name) != content}


# --- copies


def backup(path: Path, target: Path | None = None, database: str = "") -> Path:
    """Copy the book, which may be in use, to `target` or its copies; where it went."""
    need(path, database)
    with _told("The copy"):
        target = target or _named_now(path)
        if target.exists():
            raise BookError(f"There is a file {target} already; choose another name.")
        if DAILY.fullmatch(target.name) and target.parent.resolve() == _copies_of(path):
            raise BookError(f"The server removes copies named like {target.name}; choose another.")
        _copy(path, target, database)
    return target


def _copies_of(path: Path) -> Path:
    return (path.parent / COPIES).resolve()


def _copy(path: Path, target: Path, database: str = "") -> None:
    """Copy the book and look at the copy: it opens, is whole, is the same, and fits its log."""
    breeds = own_breeds(path)
    with _draft(target) as draft:
        meant = _copy_server(path, database, draft) if database else _copy_file(path, draft)
        _keep_breeds(draft, breeds)
        found = _checked(draft, target)
        if (
            (found.id, found.format) != (meant.id, meant.format)
            or found.newest < meant.newest
            or breeds_in(draft, target) != breeds
        ):
            raise BookError("The copy is not what was copied; try again, or check the disk.")
        if found.format == store.FORMAT:
            with _opened(draft) as book:
                if not _is_as_its_log(book):
                    raise BookError(
                        "The book's records do not match its changes, so the copy was not kept. "
                        "Use `ringside export` to save the changes themselves."
                    )
        _make_one_file(draft)


def _copy_file(path: Path, draft: Path) -> Facts:
    with _open(path) as source, closing(sqlite3.connect(draft)) as copy:
        meant = _facts(source, path)
        source.backup(copy)  # in one step: a picture of one moment, which holds up nobody
    return meant


def _copy_server(path: Path, database: str, draft: Path) -> Facts:
    with _opened(path, database) as source, _opened(draft) as copy:
        meant = Facts(source.id, source.secret, store.FORMAT, source.newest())
        _pour(source, copy)
    return meant


def _pour(source: Book, target: Book, without: Iterable[type[Model]] = ()) -> None:
    """Put all rows of `source` in the place of those in `target`, at once; some tables can stay."""
    with source.database.snapshot(), target.writing():
        for table in [*TABLES, *devices.TABLES]:
            if table in without:
                continue
            name, fields = table._meta.table_name, table._meta.sorted_fields
            columns = ", ".join(f'"{field.column_name}"' for field in fields)
            flags = [isinstance(field, BooleanField) for field in fields]
            rows = [
                # SQLite gives numbers for them, which PostgreSQL does not take.
                tuple(
                    bool(value) if is_flag and value is not None else value
                    for value, is_flag in zip(row, flags, strict=True)
                )
                for row in source.rows(f'SELECT {columns} FROM "{name}"')
            ]
            marks = ", ".join("?" * len(fields))
            target.rows(f'DELETE FROM "{name}"')
            target.database.many(f'INSERT INTO "{name}" ({columns}) VALUES ({marks})', rows)
        target.database.renumber()


def daily(path: Path, today: date, database: str = "") -> Path | None:
    """Make today's copy unless there is one or nothing to copy; remove the oldest beyond 14."""
    with _told("The daily copy"):
        folder = path.parent / COPIES
        target = folder / f"daily-{today:%Y%m%d}.db"
        if target.exists():
            return None
        if not _newest(path, database) and not own_breeds(path):
            return None
        _private_folder(folder)
        _copy(path, target, database)
        own = sorted(entry for entry in folder.iterdir() if DAILY.fullmatch(entry.name))
        for old in own[:-MOST_DAILY]:
            if old != target:  # a clock set back must not cost the newest one
                old.unlink()
    return target


def _newest(path: Path, database: str) -> int:
    if database:
        with _opened(path, database) as book:
            return book.newest()
    with _open(path) as db:
        return _facts(db, path).newest


@contextmanager
def kept_daily(path: Path, database: str = "") -> Iterator[None]:
    """Have a thread make the daily copies of the book, the first one now."""
    stop = threading.Event()

    def keep() -> None:
        while True:
            try:
                daily(path, date.today(), database)
            except BookError as error:
                print(f"ringside: {error}", file=sys.stderr, flush=True)
            if stop.wait(LOOK_EVERY):
                return

    thread = threading.Thread(target=keep, name="daily copies", daemon=True)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join(10)


# --- an older format


def migrate(book: Book, from_format: int) -> None:
    """Bring the book to the present format, all or nothing, after making a copy."""
    steps = range(from_format, store.FORMAT)
    if not all(step in MIGRATIONS for step in steps):
        raise BookError(
            f"{book.place} is of format {from_format}, which this version cannot read. "
            "Export it with the version that wrote it, and import that."
        )
    with _told("Bringing the book to the new format", *book.database.errors):
        if isinstance(book.database, Postgres):
            # Its tables may be others than those we know, so the copy stays in the database.
            book.database.set_tables_aside(f"before_format_{store.FORMAT}")
            _step(book.db.connection(), steps)
            return
        _copy(book.path, _named_now(book.path, f"-before-format-{store.FORMAT}"))
        with _open(book.path) as db:
            db.execute("BEGIN IMMEDIATE")
            # Another process may have been faster.
            _step(db, range(_facts(db, book.path).format, store.FORMAT))
            db.execute("COMMIT")


def _step(db: Any, steps: range) -> None:
    for step in steps:
        MIGRATIONS[step](db)
        db.execute(f"UPDATE meta SET value = '{step + 1}' WHERE key = 'format'")


# --- the way back


def restore(path: Path, copy: Path, database: str = "") -> Restored:
    """Put the book in `copy` in the place of the present one, which goes to its copies.

    Phones stay let in or shut out as they are now, if it is the same book: an older list would
    let a phone in again that was lost since. The copy's own breed files are put in the folder;
    others that are there stay, and one that differs stays beside as `.old`.
    """
    if not copy.is_file():
        raise BookError(f"There is no file {copy}; name a copy.")
    if path.exists() and path.samefile(copy):
        raise BookError(f"{copy} is the book itself; name a copy of it.")
    if database:
        return _restore_server(path, copy, database)
    with _alone(path.parent), _told("The restore"), _scratch(path) as draft:
        _fetch(copy, draft)
        facts = _checked(draft, copy)
        breeds = _take_breeds(path, draft, copy)
        is_whole = _settle(path)
        is_rebuilt = has_taken = False
        if facts.format == store.FORMAT:
            with _opened(draft) as book:
                is_rebuilt = not _is_as_its_log(book)
                if is_rebuilt:
                    book.rebuild()
            has_taken = is_whole and _take_devices(path, draft, facts)
        _make_one_file(draft)
        _sync(draft)
        aside = _set_aside(path, is_whole)
        with _placed(path, breeds, draft) as old:
            os.replace(draft, path)
        _sync_folder(path.parent)
    return Restored(aside, is_rebuilt, not has_taken, tuple(breeds), tuple(old))


def _take_breeds(path: Path, draft: Path, copy: Path) -> Breeds:
    """Take the own breed files out of the draft; those that are not here, or differ."""
    breeds = breeds_in(draft, copy)
    _keep_breeds(draft, None)
    return _differing(path, breeds)


def _restore_server(path: Path, copy: Path, database: str) -> Restored:
    """The same for a book on a database server, in one transaction of it."""
    _private_folder(path.parent)
    with _told("The restore"), _alone(path.parent, database), _scratch(path) as draft:
        _fetch(copy, draft)
        facts = _checked(draft, copy)
        breeds = _take_breeds(path, draft, copy)
        with _opened(draft) as source, _opened(path, database) as present:
            is_rebuilt = not _is_as_its_log(source)
            if is_rebuilt:
                source.rebuild()
            is_same = (present.id, present.secret) == (facts.id, facts.secret)
            aside = _named_now(path, "-before-restore") if present.newest() else None
            if aside:
                _copy(path, aside, database)
            with _placed(path, breeds) as old, present.writing():
                _pour(source, present, [devices.Device] if is_same else [])
                present.rows("DELETE FROM code")
    return Restored(aside, is_rebuilt, not is_same, tuple(breeds), tuple(old))


def _fetch(copy: Path, draft: Path) -> None:
    """Copy a file as it is; through SQLite if a part of it stands beside it."""
    if Path(f"{copy}-wal").exists():
        with _open(copy, "ro") as source, closing(sqlite3.connect(draft)) as target:
            source.backup(target)
    else:
        shutil.copyfile(copy, draft)


def _settle(path: Path) -> bool:
    """Make the present book one file; whether it can be read. Raises BookError if it is in use."""
    if not path.exists() or _would_lose_its_log(path):
        return False
    try:
        with _open(path) as db:
            db.execute("PRAGMA busy_timeout = 500")
            _facts(db, path)
            db.execute("PRAGMA journal_mode = delete").fetchone()
    except sqlite3.OperationalError as error:
        if "locked" in str(error) or "busy" in str(error):
            raise BookError(_stop(path.parent)) from error
        if _is_for_want_of_room(error):
            raise
        return False
    except (BookError, sqlite3.DatabaseError):  # it may well be broken: why else restore
        return False
    return True


def _would_lose_its_log(path: Path) -> bool:
    """Whether SQLite would remove what stands beside a book whose start is broken."""
    with path.open("rb") as file:
        head = file.read(20)
    is_logged = head[18:] == b"\x02\x02"
    return head[:16] != MAGIC or (not is_logged and Path(f"{path}-wal").exists())


def _take_devices(path: Path, draft: Path, facts: Facts) -> bool:
    """Let the draft have the present book's devices; whether the two are the same book."""
    with _open(path) as present, _open(draft) as db:
        here = _facts(present, path)
        if (here.id, here.secret, here.format) != (facts.id, facts.secret, facts.format):
            return False
        columns = [row[1] for row in present.execute("PRAGMA table_info(device)")]
        if not columns or columns != [row[1] for row in db.execute("PRAGMA table_info(device)")]:
            return False
        rows = present.execute("SELECT * FROM device").fetchall()
        marks = ", ".join("?" * len(columns))
        db.execute("BEGIN IMMEDIATE")
        db.execute("DELETE FROM device")
        db.executemany(f"INSERT INTO device VALUES ({marks})", rows)
        db.execute("DELETE FROM code")
        db.execute("COMMIT")
    return True


def _set_aside(path: Path, is_whole: bool) -> Path | None:
    """Keep the present book among its copies. It also stays in place until the draft is renamed.

    What SQLite wrote beside a broken book goes before: it must never meet the restored one.
    """
    beside = [end for end in SIDES if Path(f"{path}{end}").exists()]
    if not path.exists() and not beside:
        return None
    aside = _named_now(path, "-before-restore")
    if path.exists():
        # A second link to the file would do, were it not for a kill just after it: then what is
        # taken for a copy would change with the book.
        with _draft(aside) as draft:
            shutil.copyfile(path, draft)
            if is_whole:
                _keep_breeds_if_it_can(draft, path)
    for end in beside:
        os.replace(f"{path}{end}", f"{aside}{end}")
    _sync_folder(aside.parent)
    return aside


def _keep_breeds_if_it_can(draft: Path, path: Path) -> None:
    """Have a plain copy of the book at `path` hold its breed files, unless it is too broken."""
    try:
        _keep_breeds(draft, own_breeds(path))
    except sqlite3.DatabaseError as error:
        if _is_for_want_of_room(error):
            raise
        shutil.copyfile(path, draft)


# --- out and in again


def export(path: Path, target: Path, database: str = "") -> Exported:
    """Write every change of the log, and own breed files, to `target` as JSON.

    Secrets and phones stay here.
    """
    need(path, database)
    with _told("The export"):
        if target.exists():
            raise BookError(f"There is a file {target} already; choose another name.")
        breeds = own_breeds(path)
        with (
            _opened(path, database) as book,
            _draft(target) as draft,
            draft.open("w", encoding="utf-8", newline="\n") as file,
            book.database.snapshot(),
        ):
            columns = ", ".join(COLUMNS)
            log = book.rows(f"SELECT {columns} FROM change ORDER BY seq")
            head = {
                "ringside": "export",
                "format": EXPORT_FORMAT,
                "book": book.id,
                "desk": book.meta("desk") or "",
                "contested": [
                    dict(zip(("id", "content", "received"), row, strict=True))
                    for row in book.rows("SELECT id, content, received FROM contested ORDER BY key")
                ],
            }
            # In ASCII, because what is no UTF-8 shall come back as it was, too.
            texts = json.dumps(
                {name: breeds[name].decode(errors="surrogateescape") for name in breeds}
            )
            file.write(f'{rules.as_text(head)[:-1]},"breeds":{texts},"changes":[')
            number = 0
            for row in log:
                change = dict(zip(COLUMNS, row, strict=True))
                change["value"] = json.loads(change["value"])
                file.write(f"{',' if number else ''}\n{rules.as_text(change)}")
                number += 1
            file.write("\n]}\n")
    return Exported(number, len(breeds))


def export_csv(path: Path, folder: Path, database: str = "") -> int:
    """Write the records to `folder`, one CSV file a kind; how many records."""
    need(path, database)
    number = 0
    with _told("The export"), _opened(path, database) as book:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise BookError(f"{folder} is not an empty folder; choose another name.")
        draft = _draft_name(folder)
        try:
            draft.mkdir(mode=0o700, parents=True)
            with book.database.snapshot():
                for kind in KINDS:
                    number += _write_kind(book, kind, draft / f"{kind}.csv")
            if folder.exists():
                folder.rmdir()
            os.replace(draft, folder)
        finally:
            shutil.rmtree(draft, ignore_errors=True)
    return number


def _write_kind(book: Book, kind: str, path: Path) -> int:
    names = [name for name in FIELDS[kind] if name != "deleted"]
    records = book.records(kind)
    handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    # With the mark by which spreadsheets know UTF-8.
    with open(handle, "w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["id", *names])
        for key, values in sorted(records.items()):
            writer.writerow([key, *(_cell(values.get(name)) for name in names)])
    return len(records)


def _cell(value: Any) -> Any:
    """Return a value that no spreadsheet takes for a formula; an apostrophe leads it then."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        value = "; ".join(map(str, value))
    return guarded(value) if isinstance(value, str) else value


def import_(path: Path, source: Path, database: str = "") -> Imported:
    """Take in what `export` wrote, into an empty book or the same one. All of it, or nothing.

    Of own breed files those that are missing here; one that differs is left as it is.
    """
    with _told("The import"):
        data = _read(source)
        folder = path.parent / OWN_BREEDS
        with _alone(path.parent, database), _opened(path, database) as book:
            new = _differing(path, data["breeds"])
            missing = {name: new[name] for name in new if not (folder / name).exists()}
            with _placed(path, missing), book.writing():
                found = _take_book(book, data, source)
    return replace(found, breeds=tuple(missing), differing=tuple(new.keys() - missing.keys()))


def _take_book(book: Book, data: dict[str, Any], source: Path) -> Imported:
    if book.id != data["book"]:
        if book.newest() or book.contested():
            raise BookError(
                f"{source} is of another book than the one in {book.path.parent}, which was "
                "left as it was. Name an empty folder with --data."
            )
        book.rename(data["book"])
    found = _take(book, data["changes"], source)
    _take_apart(book, data)
    return found


def _read(source: Path) -> dict[str, Any]:
    """Return an export whose form is right."""
    foreign = f"{source} is not an export of Ringside's; nothing was changed. Name another file."
    try:
        data = json.loads(source.read_text(encoding="utf-8"))
    except (ValueError, RecursionError) as error:
        raise BookError(f"{source} is not whole JSON ({error}). {ANEW}") from error
    if not isinstance(data, dict) or data.get("ringside") != "export":
        raise BookError(foreign)
    number = data.get("format")
    if type(number) is not int:
        raise BookError(foreign)
    if number > EXPORT_FORMAT:
        raise BookError(f"{source} was written by a newer version; update Ringside first.")
    changes, contested, desk = data.get("changes"), data.get("contested"), data.get("desk")
    if not isinstance(changes, list) or not isinstance(contested, list):
        raise BookError(foreign)
    is_formed = (
        all(isinstance(text, str) for text in (data.get("book"), desk))
        and UUID.fullmatch(data["book"])
        and (not desk or UUID.fullmatch(desk))
        and all(_is_contested(one) for one in contested)
    )
    if not is_formed:
        raise BookError(foreign)
    ids: set[str] = set()
    for place, change in enumerate(changes, 1):
        problem = _form_problem(change)
        if not problem and change["id"] in ids:
            problem = "Another one before it has its id."
        if problem:
            raise BookError(f"{source}, change {place}: {problem} {ANEW}")
        ids.add(change["id"])
    breeds = _as_breeds(data.get("breeds", {}))
    if breeds is None:
        raise BookError(f"{source} holds what is no breed file of one's own. {ANEW}")
    return {**data, "breeds": breeds}


def _as_breeds(texts: Any) -> Breeds | None:
    """Return the own breed files of an export; None if there is anything else among them."""
    if not isinstance(texts, dict) or len(texts) > MOST_OWN_FILES:
        return None
    try:
        breeds = {name: text.encode(errors="surrogateescape") for name, text in texts.items()}
    except (AttributeError, UnicodeEncodeError):
        return None
    return breeds if all(_is_own(name, breeds[name]) for name in breeds) else None


def _is_contested(one: Any) -> bool:
    return (
        isinstance(one, dict)
        and one.keys() == {"id", "content", "received"}
        and isinstance(one["id"], str)
        and UUID.fullmatch(one["id"]) is not None
        and isinstance(one["content"], str)
        and _is_moment(one["received"])
        and _holds_change(one["content"])
    )


def _holds_change(text: str) -> bool:
    try:
        text.encode()  # half a character cannot be kept
        return rules.form_problem(json.loads(text)) is None
    except (ValueError, RecursionError):
        return False


def _is_moment(value: Any) -> bool:
    return type(value) is int and 0 <= value <= clock.LAST_MS


def _form_problem(change: Any) -> str | None:
    if not isinstance(change, dict) or change.keys() != set(COLUMNS):
        return f"It must have exactly the keys {', '.join(COLUMNS)}."
    problem = rules.form_problem(_as_sent(change))
    if problem:
        return problem
    raw = change["raw"]
    if not isinstance(raw, str) or not clock.STAMP.fullmatch(raw):
        return "Its raw stamp is malformed."
    return None if _is_moment(change["received"]) else "Its moment of arrival is malformed."


def _as_sent(change: dict[str, Any]) -> dict[str, Any]:
    return {key: change[key] for key in rules.KEYS}


def _take(book: Book, changes: list[dict[str, Any]], source: Path) -> Imported:
    known = 0
    new: list[dict[str, Any]] = []
    for batch in _parted(changes, BATCH):
        sql = "SELECT id, kind, record, field, value, device FROM change WHERE id IN ({listed})"
        ids = json.dumps([change["id"] for change in batch])
        there = {row[0]: row[1:] for row in book.rows(sql, ids)}
        for change in batch:
            content = there.get(change["id"])
            if content is None:
                new.append(change)
                continue
            known += 1
            text = rules.as_text(change["value"])
            about = (change["kind"], change["record"], change["field"], text, change["device"])
            if content != about:
                raise BookError(
                    f"{source} has another change under the id {change['id']} than the book. {ANEW}"
                )
    for run in _runs(new):
        # By their stamps as the book gave them, at a time when none of them leads.
        now = clock.ms(run[-1]["stamp"])
        receipt = book.append([_as_sent(change) for change in run], now)
        for key, reason in receipt.refused.items():
            raise BookError(f"{source}, change {key}: {reason} {ANEW}")
        if receipt.restamped:
            raise BookError(f"{source} holds stamps out of order. {ANEW}")
    book.database.many(
        "UPDATE change SET raw = ?, received = ? WHERE id = ?",
        [(change["raw"], change["received"], change["id"]) for change in new],
    )
    return Imported(len(new), known)


def _parted(changes: list[dict[str, Any]], most: int) -> Iterator[list[dict[str, Any]]]:
    for start in range(0, len(changes), most):
        yield changes[start : start + most]


def _runs(changes: Iterable[dict[str, Any]]) -> Iterator[list[dict[str, Any]]]:
    """Part the changes where a stamp goes back: a batch is numbered in the order of its stamps."""
    run: list[dict[str, Any]] = []
    for change in changes:
        if run and (change["stamp"] < run[-1]["stamp"] or len(run) == BATCH):
            yield run
            run = []
        run.append(change)
    if run:
        yield run


def _take_apart(book: Book, data: dict[str, Any]) -> None:
    """Take in what was kept apart, and who the desk was, unless the book knows."""
    there = set(book.rows("SELECT id, content FROM contested"))
    for one in data["contested"]:
        if (one["id"], one["content"]) not in there:
            book.rows(
                "INSERT INTO contested (id, content, received) VALUES (?, ?, ?)",
                one["id"], one["content"], one["received"],
            )  # fmt: skip
    if data["desk"] and book.meta("desk") is None:
        book.set_meta("desk", data["desk"])
