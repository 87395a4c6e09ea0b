"""All of the book as JSON: every change of its log, the own breed files, and the photos."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from ringside.book import changes as rules
from ringside.book.blobs import Blobs
from ringside.book.keeping import breeds, files, locks, photos
from ringside.book.keeping.formats import opened_as_it_is
from ringside.book.keeping.ways_back import need
from ringside.book.place import Place
from ringside.book.store import BookError

EXPORT_FORMAT = 2
WITHOUT_PHOTOS = 1  # so that a version which knew of none takes it in
LIST_OF_PHOTOS = ',"photos":['
COLUMNS = (*rules.KEYS, "raw", "received")


@dataclass(frozen=True)
class Exported:
    """How many changes an export holds, how many own breed files, and how many photos."""

    changes: int
    breeds: int
    photos: int = 0


def export(place: Place, target: Path) -> Exported:
    """Write every change of the log, own breed files and photos to `target` as JSON.

    Secrets and phones stay here.
    """
    need(place)
    with files.told("The export"), locks.serving(place):
        if target.exists():
            raise BookError(f"There is a file {target} already; choose another name.")
        own = breeds.own_breeds(place)
        with (
            opened_as_it_is(place) as book,
            files.draft(target) as draft,
            draft.open("w", encoding="utf-8", newline="\n") as file,
            book.database.snapshot(),
        ):
            kept = Blobs(book)
            columns, held = ", ".join(COLUMNS), kept.count()
            log = book.database.streamed(f"SELECT {columns} FROM change ORDER BY seq")
            head = {
                "ringside": "export",
                "format": EXPORT_FORMAT if held else WITHOUT_PHOTOS,
                "book": book.id,
                "desk": book.meta("desk") or "",
                "contested": [
                    dict(zip(("id", "content", "received"), row, strict=True))
                    for row in book.rows("SELECT id, content, received FROM contested ORDER BY key")
                ],
            }
            # In ASCII, because what is no UTF-8 shall come back as it was, too.
            texts = json.dumps({name: own[name].decode(errors="surrogateescape") for name in own})
            file.write(f'{rules.as_text(head)[:-1]},"breeds":{texts},"changes":[')
            number = 0
            for row in log:
                change = dict(zip(COLUMNS, row, strict=True))
                change["value"] = json.loads(change["value"])
                file.write(f"{',' if number else ''}\n{rules.as_text(change)}")
                number += 1
            file.write("\n]")
            for before, photo in enumerate(kept.each()):
                file.write(f"{',' if before else LIST_OF_PHOTOS}\n{photos.as_text(photo)}")
            file.write("\n]}\n" if held else "}\n")
    return Exported(number, len(own), held)
