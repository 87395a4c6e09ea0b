"""The records as they are now, for a spreadsheet: one CSV file a kind."""

from __future__ import annotations

import csv
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from ringside.book import opening
from ringside.book.keeping import copying, files, locks
from ringside.book.keeping.formats import opened_as_it_is
from ringside.book.keeping.ways_back import need
from ringside.book.kinds import KINDS
from ringside.book.place import Place
from ringside.book.store import Book, BookError
from ringside.book.tables.sheets import guarded


def export_csv(place: Place, folder: Path) -> int:
    """Write the records to `folder`, one CSV file a kind; how many records."""
    need(place)
    number = 0
    with files.told("The export"), locks.serving(place), _with_our_rows(place) as book:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise BookError(f"{folder} is not an empty folder; choose another name.")
        draft = files.draft_name(folder)
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


@contextmanager
def _with_our_rows(place: Place) -> Iterator[Book]:
    """Open the book; where another version made its rows, which it may be serving, a copy of it."""
    with opened_as_it_is(place) as book:
        if book.is_kept_by_us():
            yield book
            return
        files.private_folder(place.data)
        with files.scratch(place.file) as draft:
            copying.copy(book, draft)
            with opening.opened_at(Place.of_file(draft)) as copy:
                yield copy


def _write_kind(book: Book, kind: str, path: Path) -> int:
    names = [name for name in KINDS[kind].fields if name != "deleted"]
    records = book.records(kind)
    handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    # With the mark by which spreadsheets know UTF-8.
    with open(handle, "w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["id", *names])
        for key, values in sorted(records.items()):
            writer.writerow([key, *(cell(values.get(name)) for name in names)])
    return len(records)


def cell(value: Any) -> Any:
    """Return a value that no spreadsheet takes for a formula; an apostrophe leads it then."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        value = "; ".join(map(str, value))
    return guarded(value) if isinstance(value, str) else value
