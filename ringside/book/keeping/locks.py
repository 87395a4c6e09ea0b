"""Who uses the book: servers together, or one who replaces it, alone."""

from __future__ import annotations

import errno
import os
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, nullcontext

from ringside.book import store
from ringside.book.keeping import files
from ringside.book.place import Place
from ringside.book.store import BookError

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

LOCK = "in-use.lock"
PATIENCE = (0.05, 0.2, 0.75)  # seconds


@contextmanager
def serving(place: Place) -> Iterator[None]:
    """Show others that the book is in use. Raises BookError if it is replaced now."""
    with _patiently(place, True) as is_ours:
        # Windows cannot tell a second server from a restore.
        if not is_ours and (place.url or os.name != "nt"):
            raise BookError("This book is being restored or imported; try again afterwards.")
        yield


@contextmanager
def alone(place: Place) -> Iterator[None]:
    """Keep others from the book. Raises BookError if it is in use."""
    with _patiently(place, False) as is_ours:
        if not is_ours:
            raise BookError(in_use(place))
        yield


def tidy(place: Place) -> None:
    """Remove what copies that were cut off left, unless one may be under way: it holds the lock."""
    with _locked(place, False) as is_ours:
        if is_ours:
            for folder in (place.data, place.copies, place.own_breeds):
                files.clear_drafts(folder)


def in_use(place: Place) -> str:
    """Return what to do about a book that somebody uses."""
    return f"The book in {place.data} is in use; stop `ringside serve` first, then try again."


@contextmanager
def _patiently(place: Place, is_shared: bool) -> Iterator[bool]:
    """Hold that lock; whether it is ours.

    A database lets go of the lock of who was killed a moment later, so it is asked again.
    """
    waits = PATIENCE if place.url or os.name != "nt" else ()
    for wait in (*waits, None):
        with _locked(place, is_shared) as is_ours:
            if is_ours or wait is None:
                yield is_ours
                return
        time.sleep(wait)


@contextmanager
def _locked(place: Place, is_shared: bool) -> Iterator[bool]:
    """Hold the lock of the database, or else of the folder; whether it is ours.

    Where there are no locks it always is.
    """
    if place.url:
        server = store.server(place.url)
        try:
            lock = server.lock(is_shared)
        except server.errors as error:
            raise BookError(store.out_of_reach(str(place), error)) from error
        with closing(lock) if lock else nullcontext():
            yield lock is not None
        return
    try:
        files.private_folder(place.data)
        handle = os.open(place.data / LOCK, os.O_CREAT | os.O_RDWR, 0o600)
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
