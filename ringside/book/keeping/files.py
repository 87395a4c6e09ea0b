"""Files on the disk: each is written whole to a draft, and then renamed.

So a full disk or a kill at any moment leaves the file that was there, or the new one, never a part.
"""

from __future__ import annotations

import errno
import os
import secrets
import shutil
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from itertools import count
from pathlib import Path

from peewee import DatabaseError

from ringside.book.place import Place
from ringside.book.store import BookError

DRAFT = ".ringside-draft"
INCOMING = ".incoming-"  # begins the name of a folder with what is looked at before it is kept
STALE = 24 * 3600  # seconds after which nobody writes a draft any more
SIDES = ("-wal", "-shm", "-journal")


@contextmanager
def told(what: str, *more: type[Exception]) -> Iterator[None]:
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
        advice = "Make room on the disk" if is_full else "Fix that"
        raise BookError(
            f"{what} did not work ({reason}); the book was left as it was. {advice} and try again."
        ) from error


@contextmanager
def draft(target: Path) -> Iterator[Path]:
    """Give a new private file beside `target`, which it becomes unless something goes wrong."""
    with scratch(target) as draft:
        yield draft
        sync(draft)
        os.replace(draft, target)
        sync_folder(target.parent)


@contextmanager
def scratch(path: Path) -> Iterator[Path]:
    """Give a new private file beside `path`, which is gone afterwards."""
    clear_drafts(path.parent, STALE)
    draft = draft_name(path)
    try:
        os.close(os.open(draft, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        yield draft
    finally:
        for end in ("", *SIDES):
            with suppress(OSError):
                Path(f"{draft}{end}").unlink()


def draft_name(target: Path) -> Path:
    """Return a free name beside `target` by which a stale draft is known."""
    return target.with_name(f".{target.name}.{secrets.token_hex(6)}{DRAFT}")


def clear_drafts(folder: Path, age: float = 0) -> None:
    """Remove what a killed process left half written, if it is older than `age` (seconds)."""
    with suppress(OSError):  # what cannot be listed harms nobody
        for draft in [*folder.glob(f".*{DRAFT}*"), *folder.glob(f"{INCOMING}*")]:
            with suppress(OSError):
                if abs(time.time() - draft.stat().st_mtime) >= age:
                    shutil.rmtree(draft) if draft.is_dir() else draft.unlink()


def sync(path: Path) -> None:
    """Have the disk hold what was written."""
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sync_folder(folder: Path) -> None:
    """Have the disk hold a new name, where that is possible; the rename is done either way."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def private_folder(folder: Path) -> None:
    """Make a folder that its owner alone may look into, unless there is one."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)


def _free_name(folder: Path, stem: str) -> Path:
    path, number = folder / f"{stem}.db", 1
    while path.exists():
        number += 1
        path = folder / f"{stem}-{number}.db"
    return path


def named_now(place: Place, more: str = "") -> Path:
    """Return a free name in the copies of the book at `place`, by the present."""
    private_folder(place.copies)
    return _free_name(place.copies, f"book-{datetime.now():%Y%m%d-%H%M%S}{more}")


def old_name(path: Path) -> Path:
    """Return a free name beside a breed file that tells when it was put by."""
    now = datetime.now().strftime("%Y-%m-%d-%H%M%S")
    names = (f"{path.stem}.{now}{f'-{again}' if again else ''}.toml.old" for again in count())
    return next(place for name in names if not (place := path.with_name(name)).exists())
