"""The bytes of photos that were copied to the book, each by its SHA-256.

They are no part of the log: a record names them, and what none names goes after a while. Time is
given to every function, in ms. Use it within a session of the book.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from typing import Any

from ringside.book import clock, jpeg, merge
from ringside.book.jpeg import BadPicture
from ringside.book.projection import shown
from ringside.book.store import Book

MOST_BYTES = 1_500_000
SHA256 = re.compile(r"[0-9a-f]{64}")
DAY = 24 * 3600 * 1000
YOUNG = DAY  # what came within it stays: its record may be on its way
PUT_BACK = 30 * DAY  # how long what names it may have been removed
# The fields that name one.
NAMED_BY = (("photo", "sha256"), ("dog", "portrait"))
KEEP = "INSERT INTO blob (sha256, bytes, received) VALUES (?, ?, ?) ON CONFLICT DO NOTHING"

Stored = tuple[str, bytes, int]


def looked_at(sha256: str, data: bytes) -> tuple[int, int]:
    """Return the width and height of the photo that has this hash. Raises BadPicture."""
    if len(data) > MOST_BYTES:
        raise BadPicture("too-large", f"has more than {MOST_BYTES / 1e6:g} MB")
    if hashlib.sha256(data).hexdigest() != sha256:
        raise BadPicture("other-photo", "is not the one of this name, or was damaged on its way")
    return jpeg.size(data)


class Blobs:
    """The photos of one book."""

    def __init__(self, book: Book) -> None:
        """Look after the photos of `book`."""
        self.book = book

    def has(self, sha256: str) -> bool:
        """Whether the book has it."""
        return bool(self.book.rows("SELECT 1 FROM blob WHERE sha256 = ?", sha256))

    def get(self, sha256: str) -> bytes | None:
        """Return its bytes, None if the book does not have it."""
        rows = self.book.rows("SELECT bytes FROM blob WHERE sha256 = ?", sha256)
        return bytes(rows[0][0]) if rows else None

    def put(self, *stored: Stored) -> None:
        """Keep photos that were looked at, each with when it came; those the book has stay."""
        self.book.database.many(KEEP, stored)

    def count(self) -> int:
        """Return how many there are."""
        return int(self.book.rows("SELECT COUNT(*) FROM blob")[0][0])

    def each(self) -> Iterator[Stored]:
        """Give all, one at a time: they need not fit into the memory. Use it in a snapshot."""
        sql = "SELECT sha256, bytes, received FROM blob WHERE sha256 = ?"
        for (sha256,) in self.book.rows("SELECT sha256 FROM blob ORDER BY sha256"):
            for key, data, received in self.book.rows(sql, sha256):
                yield key, bytes(data), received

    def asked_for(self, sha256: str) -> list[dict[str, Any]]:
        """Return the values of the live photos that are to be copied to the book and are this."""
        return [photo for photo in self._naming("photo", "sha256", sha256) if photo.get("copy")]

    def is_portrait(self, sha256: str) -> bool:
        """Whether it is on the page of a dog that was not removed."""
        return bool(self._naming("dog", "portrait", sha256))

    def _naming(self, kind: str, field: str, sha256: str) -> list[dict[str, Any]]:
        sql = "SELECT cells FROM record WHERE kind = ? AND NOT deleted AND cells LIKE ?"
        found = [shown(json.loads(row[0])) for row in self.book.rows(sql, kind, f"%{sha256}%")]
        return [values for values in found if values.get(field) == sha256]

    def collect(self, now: int) -> int:
        """Remove those that nothing names any more; how many.

        A record that was removed counts for thirty days, so that it can be put back with its
        photo. What a newer version may have named is left alone.
        """
        if not self.count() or self.book.meta("strange"):
            return 0
        with self.book.writing():
            named = set(self._named(now))
            # One from the future came before the clock was set back.
            sql = "SELECT sha256 FROM blob WHERE received <= ? OR received > ?"
            old = [row[0] for row in self.book.rows(sql, now - YOUNG, now)]
            gone = [(sha256,) for sha256 in old if sha256 not in named]
            self.book.database.many("DELETE FROM blob WHERE sha256 = ?", gone)
        return len(gone)

    def _named(self, now: int) -> Iterator[Any]:
        for kind, field in NAMED_BY:
            for (text,) in self.book.rows("SELECT cells FROM record WHERE kind = ?", kind):
                cells = json.loads(text)
                values = shown(cells)
                if values.get("deleted"):
                    removed = clock.ms(merge.winner(cells["deleted"]))
                    if removed <= now - PUT_BACK:
                        continue
                if kind != "photo" or values.get("copy"):
                    yield values.get(field)
