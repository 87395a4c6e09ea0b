"""The handler's own breed files: what is beside the book, what a copy holds, and the way back."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import Any

from ringside.book.keeping import checks, files
from ringside.book.place import Place
from ringside.book.store import BookError
from ringside.knowledge.own import (
    MOST_OWN_FILES,
    MOST_OWN_SIZE,
    is_own_file,
    own_content,
    own_entries,
)

KEPT = "kept_file"  # the table of a copy that holds own breed files

# Own breed files by their names, with what is in them.
Breeds = dict[str, bytes]


def own_breeds(place: Place, problems: list[str] | None = None) -> Breeds:
    """Return the own breed files beside the book at `place`.

    Of those that are of no use by name, size or number, or cannot be read, `problems` tell.
    """
    told = [] if problems is None else problems
    found = {entry.name: own_content(entry, told) for entry in own_entries(place.own_breeds, told)}
    return {name: content for name, content in found.items() if content is not None}


def breeds_in(copy: Path, named: Path | None = None) -> Breeds:
    """Return the own breed files in a copy, which people call `named`.

    Raises BookError if there is anything that no copy of ours holds.
    """
    named = named or copy
    found: Breeds = {}
    with checks.broken_told(named), checks.open_foreign(copy) as db:
        # Else a few bytes could say that they are a gigabyte.
        db.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, 2 * MOST_OWN_SIZE)
        kinds = db.execute("SELECT type FROM sqlite_master WHERE name = ?", (KEPT,)).fetchall()
        if not kinds:
            return found
        if kinds != [("table",)]:
            raise BookError(checks.broken(named, "what should hold breed files does not"))
        for name, content in db.execute(f"SELECT name, content FROM {KEPT}"):
            if not is_own(name, content) or len(found) == MOST_OWN_FILES:
                raise BookError(
                    checks.broken(named, "it holds something that is not a breed file of your own")
                )
            found[name] = content
    return found


def is_own(name: Any, content: Any) -> bool:
    """Whether this can be an own breed file, by its name and size."""
    return (
        isinstance(name, str)
        and is_own_file(name)
        and isinstance(content, bytes)
        and len(content) <= MOST_OWN_SIZE
    )


def put_into(copy: Path, breeds: Breeds | None) -> None:
    """Have a copy hold exactly these own breed files; with None it is as a book in use."""
    with checks.open_file(copy) as db:
        db.execute("BEGIN IMMEDIATE")
        db.execute(f"DROP TABLE IF EXISTS {KEPT}")
        if breeds is not None:
            db.execute(f"CREATE TABLE {KEPT} (name TEXT PRIMARY KEY, content BLOB NOT NULL)")
            db.executemany(f"INSERT INTO {KEPT} VALUES (?, ?)", breeds.items())
        db.execute("COMMIT")


@contextmanager
def placed(place: Place, breeds: Breeds, draft: Path | None = None) -> Iterator[list[Path]]:
    """Put own breed files beside the book; give where those that they replace are now.

    If what is done within fails they are as they were, unless `draft` has become the book. A kill
    may leave some of them new beside the old book: then those before them are there as well, and
    the same once more brings the rest.
    """
    with ExitStack() as drafts:
        placing = {}
        for name, content in breeds.items():
            file = place.own_breeds / name
            files.private_folder(file.parent)
            new = drafts.enter_context(files.scratch(file))
            new.write_bytes(content)
            files.sync(new)
            placing[file] = new
        old = {file: files.old_name(file) for file in placing if file.exists()}
        try:
            for file, aside in old.items():
                with files.draft(aside) as copied:
                    shutil.copyfile(file, copied)
            for file, new in placing.items():
                os.replace(new, file)
            if placing:
                files.sync_folder(place.own_breeds)
            yield list(old.values())
        except BaseException:
            if draft is None or draft.exists():
                for file, new in placing.items():
                    _take_back(file, new, old.get(file))
            raise


def _take_back(file: Path, new: Path, old: Path | None) -> None:
    """Undo one of `placed`, however far it got."""
    with suppress(OSError):  # the others' turn comes all the same
        if new.exists():
            if old:
                old.unlink(missing_ok=True)
        elif old:
            os.replace(old, file)
        else:
            file.unlink()


def differing(place: Place, breeds: Breeds) -> Breeds:
    """Return those that are not beside the book as they are in `breeds`."""
    here = own_breeds(place)
    return {name: content for name, content in breeds.items() if here.get(name) != content}
