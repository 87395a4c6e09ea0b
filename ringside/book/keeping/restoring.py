"""The way back: a copy in the place of the book."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from ringside.book import devices, opening, store
from ringside.book.keeping import breeds, checks, copying, files, locks, pouring
from ringside.book.keeping.breeds import Breeds
from ringside.book.keeping.checks import Facts
from ringside.book.keeping.formats import MIGRATIONS, opened_book
from ringside.book.keeping.photos import Photos
from ringside.book.keeping.ways_back import REPLACED
from ringside.book.place import Place
from ringside.book.store import BookError


@dataclass(frozen=True)
class Restored:
    """What became of a restore: where the book before it is now, and what to know of it.

    `breeds` are the own breed files that were put in the folder, `old` where those they replaced
    are now; `photos` tells how many came with the book and which of the copy's were left out.
    """

    aside: Path | None
    is_rebuilt: bool
    has_devices_of_copy: bool
    breeds: tuple[str, ...] = ()
    old: tuple[Path, ...] = ()
    photos: Photos = field(default_factory=Photos)


def restore(place: Place, copy: Path) -> Restored:
    """Put the book in `copy` in the place of the present one, which goes to its copies.

    Phones stay let in or shut out as they are now, if it is the same book: an older list would
    let a phone in again that was lost since. The copy's own breed files are put in the folder;
    others that are there stay, and one that differs stays beside as `.old`.
    """
    if not copy.is_file():
        raise BookError(f"There is no file {copy}; name a copy.")
    path = place.file
    if path.exists() and path.samefile(copy):
        raise BookError(f"{copy} is the book itself; name a copy of it.")
    if place.url:
        return _restore_server(place, copy)
    with (
        locks.alone(place),
        files.told("The restore"),
        files.scratch(path) as fetched,
        files.scratch(path) as draft,
    ):
        facts, own = _look(place, copy, fetched)
        is_whole = _settle(place)
        poured = pouring.pour(fetched, draft, copy)
        has_taken = is_whole and _take_devices(path, draft, facts)
        checks.make_one_file(draft)
        files.sync(draft)
        aside = _set_aside(place, is_whole)
        with breeds.placed(place, own, draft) as old:
            os.replace(draft, path)
        files.sync_folder(place.data)
    return Restored(aside, poured.is_rebuilt, not has_taken, tuple(own), tuple(old), poured.photos)


def _look(place: Place, copy: Path, fetched: Path) -> tuple[Facts, Breeds]:
    """Fetch a copy and look at it: what it says, and its breed files that are not here or differ.

    Raises BookError if it is no whole copy of a book that this version can read.
    """
    _fetch(copy, fetched)
    facts = checks.checked(fetched, copy)
    if not all(step in MIGRATIONS for step in range(facts.format, store.FORMAT)):
        raise BookError(opening.too_old(copy, facts.format))
    return facts, breeds.differing(place, breeds.breeds_in(fetched, copy))


def _restore_server(place: Place, copy: Path) -> Restored:
    """The same for a book on a database server, in one transaction of it."""
    files.private_folder(place.data)
    with (
        files.told("The restore"),
        locks.alone(place),
        files.scratch(place.file) as fetched,
        files.scratch(place.file) as draft,
    ):
        facts, own = _look(place, copy, fetched)
        poured = pouring.pour(fetched, draft, copy)
        with (
            opening.opened_at(Place.of_file(draft)) as source,
            opened_book(place, opening.begin_if_none) as present,
        ):
            is_same = (present.id, present.secret) == (facts.id, facts.secret)
            aside = files.named_now(place, REPLACED) if present.newest() else None
            if aside:
                copying.copy_server(present, aside)
            with breeds.placed(place, own) as old, present.writing():
                copying.pour(source, present, [devices.Device] if is_same else [])
                present.rows("DELETE FROM code")
    return Restored(aside, poured.is_rebuilt, not is_same, tuple(own), tuple(old), poured.photos)


def _fetch(copy: Path, draft: Path) -> None:
    """Copy a file as it is; through SQLite if a part of it stands beside it."""
    if Path(f"{copy}-wal").exists():
        with checks.open_file(copy, "ro") as source, closing(sqlite3.connect(draft)) as target:
            source.backup(target)
    else:
        shutil.copyfile(copy, draft)


def _settle(place: Place) -> bool:
    """Make the present book one file; whether it can be read. Raises BookError if it is in use."""
    path = place.file
    if not path.exists() or _would_lose_its_log(path):
        return False
    try:
        with checks.open_file(path) as db:
            db.execute("PRAGMA busy_timeout = 500")
            checks.facts(db, path)
            db.execute("PRAGMA journal_mode = delete").fetchone()
    except sqlite3.OperationalError as error:
        if "locked" in str(error) or "busy" in str(error):
            raise BookError(locks.in_use(place)) from error
        if checks.is_for_want_of_room(error):
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
    return head[:16] != checks.MAGIC or (not is_logged and Path(f"{path}-wal").exists())


def _take_devices(path: Path, draft: Path, facts: Facts) -> bool:
    """Let the draft have the present book's devices; whether the two are the same book."""
    with checks.open_file(path) as present, checks.open_file(draft) as db:
        here = checks.facts(present, path)
        if (here.id, here.secret, here.format) != (facts.id, facts.secret, store.FORMAT):
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


def _set_aside(place: Place, is_whole: bool) -> Path | None:
    """Keep the present book among its copies. It also stays in place until the draft is renamed.

    What SQLite wrote beside a broken book goes before: it must never meet the restored one.
    """
    path = place.file
    beside = [end for end in files.SIDES if Path(f"{path}{end}").exists()]
    if not path.exists() and not beside:
        return None
    aside = files.named_now(place, REPLACED)
    if path.exists():
        # A second link to the file would do, were it not for a kill just after it: then what is
        # taken for a copy would change with the book.
        with files.draft(aside) as draft:
            shutil.copyfile(path, draft)
            if is_whole:
                _keep_breeds_if_it_can(draft, place)
    for end in beside:
        os.replace(f"{path}{end}", f"{aside}{end}")
    files.sync_folder(aside.parent)
    return aside


def _keep_breeds_if_it_can(draft: Path, place: Place) -> None:
    """Have a plain copy of the book at `place` hold its breed files, unless it is too broken."""
    try:
        breeds.put_into(draft, breeds.own_breeds(place))
    except sqlite3.DatabaseError as error:
        if checks.is_for_want_of_room(error):
            raise
        shutil.copyfile(place.file, draft)
