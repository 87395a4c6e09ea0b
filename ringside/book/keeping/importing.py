"""Taking in what an export wrote, into an empty book or the same one: all of it, or nothing."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ringside.book import changes as rules
from ringside.book import clock
from ringside.book.keeping import breeds, files, locks
from ringside.book.keeping.formats import opened_book
from ringside.book.keeping.reading import ANEW, as_sent, read
from ringside.book.place import Place
from ringside.book.store import Book, BookError

BATCH = 5000


@dataclass(frozen=True)
class Imported:
    """How many changes an import added, and how many the book had already.

    `breeds` are the own breed files it added, `differing` those left as they are here.
    """

    new: int
    known: int
    breeds: tuple[str, ...] = ()
    differing: tuple[str, ...] = ()


def import_(place: Place, source: Path) -> Imported:
    """Take in what `export` wrote, into an empty book or the same one. All of it, or nothing.

    Of own breed files those that are missing here; one that differs is left as it is.
    """
    with files.told("The import"):
        data = read(source)
        folder = place.own_breeds
        with locks.alone(place), opened_book(place) as book:
            new = breeds.differing(place, data["breeds"])
            missing = {name: new[name] for name in new if not (folder / name).exists()}
            with breeds.placed(place, missing), book.writing():
                found = _take_book(book, data, source)
    return replace(found, breeds=tuple(missing), differing=tuple(new.keys() - missing.keys()))


def _take_book(book: Book, data: dict[str, Any], source: Path) -> Imported:
    if book.id != data["book"]:
        if book.newest() or book.contested():
            raise BookError(
                f"{source} is of another book than the one in {book.place.data}, which was "
                "left as it was. Name an empty folder with --data."
            )
        book.rename(data["book"])
    found = _take(book, data["changes"], source)
    _take_apart(book, data)
    return found


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
        receipt = book.append([as_sent(change) for change in run], now)
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
