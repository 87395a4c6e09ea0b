"""The photos of a book on their way out, and in again as if a stranger had sent each."""

from __future__ import annotations

import binascii
import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ringside.book import clock
from ringside.book.blobs import MOST_BYTES, SHA256, Blobs, Stored, looked_at
from ringside.book.jpeg import BadPicture
from ringside.book.keeping import checks
from ringside.book.models import Blob
from ringside.book.store import Book, BookUnavailable

TABLE = Blob._meta.table_name
COLUMNS = frozenset(Blob._meta.columns)
MOST_TOLD = 20  # of those that were left out
# What no book writes is not read at all: it may be long, and no text.
READ = f"""
    SELECT CASE WHEN typeof(sha256) = 'text' AND length(sha256) = 64
        AND sha256 NOT GLOB '*[^0-9a-f]*' THEN sha256 END,
    CASE WHEN typeof(bytes) = 'blob' AND length(bytes) <= {MOST_BYTES} THEN bytes END,
    CASE WHEN typeof(received) = 'integer' THEN received END FROM {TABLE} NOT INDEXED
"""

# The name of a photo, its bytes and when it came (ms): as far as there are any.
Found = tuple[str | None, bytes | None, int | None]


@dataclass
class Photos:
    """How many photos were taken in, and which were left out, each with why."""

    taken: int = 0
    left_out: list[str] = field(default_factory=list)

    def take(self, book: Book, found: Iterable[Found]) -> None:
        """Put into `book` what is right; of what is wrong only tell."""
        kept, now = Blobs(book), clock.wall()
        for sha256, data, received in found:
            try:
                looked_at(sha256 or "", data or b"")
            except BadPicture as bad:
                self._leave_out(f"{sha256 or 'one without a name'}: it {bad}")
                continue
            if sha256 and data and not kept.has(sha256):
                came = received if received is not None and 0 <= received <= now else now
                kept.put((sha256, data, came))
                self.taken += 1

    def _leave_out(self, words: str) -> None:
        if len(self.left_out) < MOST_TOLD:
            self.left_out.append(words)
        elif len(self.left_out) == MOST_TOLD:
            self.left_out.append("and more")


def photos_in(copy: Path) -> int:
    """Return how many photos are in a copy."""
    with checks.broken_told(copy), checks.open_foreign(copy) as db:
        return checks.facts(db, copy).photos


def rows(db: sqlite3.Connection, there: frozenset[str]) -> Iterator[Found]:
    """Give what a file that anybody may have made holds as photos, one at a time."""
    return iter(db.execute(READ)) if there >= COLUMNS else iter(())


def as_text(photo: Stored) -> str:
    """Return a photo as an export holds it."""
    sha256, data, received = photo
    jpeg = binascii.b2a_base64(data, newline=False).decode()
    return json.dumps({"sha256": sha256, "received": received, "jpeg": jpeg})


def is_photo(one: Any) -> bool:
    """Whether this has the form of a photo in an export."""
    return (
        isinstance(one, dict)
        and one.keys() == {"sha256", "received", "jpeg"}
        and isinstance(one["sha256"], str)
        and SHA256.fullmatch(one["sha256"]) is not None
        and type(one["received"]) is int
        and isinstance(one["jpeg"], str)
    )


def of_text(one: dict[str, Any]) -> Found:
    """Return what an export holds as a photo, with no bytes if it cannot be read."""
    data = None
    with suppress(ValueError):
        data = binascii.a2b_base64(one["jpeg"], strict_mode=True)
    return one["sha256"], data, one["received"]


def sweep(book: Book) -> None:
    """Let photos go that nothing names any more. There is time for it if it cannot be done now."""
    with suppress(BookUnavailable), book.session():
        Blobs(book).collect(clock.wall())
