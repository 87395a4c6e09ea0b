"""Taking in what an export wrote, into an empty book or the same one: all of it, or nothing."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, NoReturn

from ringside.book import changes as rules
from ringside.book import clock
from ringside.book.keeping import breeds, files, locks, photos
from ringside.book.keeping.formats import opened_book
from ringside.book.keeping.photos import Photos
from ringside.book.keeping.reading import ANEW, Export, as_sent, read
from ringside.book.opening import begin_if_none
from ringside.book.parts import parted
from ringside.book.place import Place
from ringside.book.store import Book, BookError
from ringside.book.taking import APART

BATCH = 5000


@dataclass(frozen=True)
class Imported:
    """How many changes an import added, and how many the book had already.

    `breeds` are the own breed files it added, `differing` those left as they are here; `photos`
    tells how many photos it added, and which were left out.
    """

    new: int
    known: int
    breeds: tuple[str, ...] = ()
    differing: tuple[str, ...] = ()
    photos: Photos = field(default_factory=Photos)


def import_(place: Place, source: Path) -> Imported:
    """Take in what `export` wrote, into an empty book or the same one. All of it, or nothing.

    Of own breed files those that are missing here; one that differs is left as it is.
    """
    with files.told("The import", RecursionError):
        data = read(source)
        folder = place.own_breeds
        with locks.alone(place), opened_book(place, begin_if_none) as book:
            new = breeds.differing(place, data.breeds)
            missing = {name: new[name] for name in new if not (folder / name).exists()}
            with breeds.placed(place, missing), book.writing():
                found = _take_book(book, data)
    return replace(found, breeds=tuple(missing), differing=tuple(new.keys() - missing.keys()))


def _take_book(book: Book, data: Export) -> Imported:
    if book.id != data.head["book"]:
        if book.newest() or book.contested():
            raise BookError(
                f"{data.source} is from another book than the one in {book.place.data}, which was "
                "left as it was. Name an empty folder with --data."
            )
        book.rename(data.head["book"])
    if data.head["desk"] and book.meta("desk") is None:
        book.set_meta("desk", data.head["desk"])
    taking = _Taking(book, data.source)
    for some in parted(data.found(), BATCH, lambda found: found[2]):
        taking.changes([entry for of, entry, _ in some if of == "changes"])
        taking.contested([entry for of, entry, _ in some if of == "contested"])
        taking.photos.take(book, (photos.of_text(entry) for of, entry, _ in some if of == "photos"))
    return Imported(taking.new, taking.known, photos=taking.photos)


class _Taking:
    """An import under way: how many changes it added, and how many the book had already."""

    def __init__(self, book: Book, source: Path) -> None:
        """Take into `book`, within its transaction, what was in the file `source`."""
        self.book, self.source = book, source
        self.before = book.newest()
        self.new = self.known = 0
        self.photos = Photos()

    def changes(self, batch: list[dict[str, Any]]) -> None:
        """Take changes in. Raises BookError for one that cannot be taken."""
        sql = (
            "SELECT id, seq, kind, record, field, value, device FROM change WHERE id IN ({listed})"
        )
        ids = json.dumps([change["id"] for change in batch])
        there = {row[0]: row[1:] for row in self.book.rows(sql, ids)}
        new: dict[str, dict[str, Any]] = {}
        for change in batch:
            seq, *content = there.get(change["id"], (0,))
            if change["id"] in new or seq > self.before:
                self._refuse(change["id"], "Another one before it has its id.")
            if not content:
                new[change["id"]] = change
                continue
            self.known += 1
            if content != _content(change):
                raise BookError(
                    f"{self.source} has another change under the id {change['id']} than the book. "
                    f"{ANEW}"
                )
        for run in _runs(new.values()):
            self._append(run)
        self.new += len(new)

    def _append(self, run: list[dict[str, Any]]) -> None:
        # By their stamps as the book gave them, at a time when none of them leads.
        now = clock.ms(run[-1]["stamp"])
        receipt = self.book.append([as_sent(change) for change in run], now, from_log=True)
        for key, reason in receipt.refused.items():
            self._refuse(key, reason)
        if receipt.restamped:
            raise BookError(f"{self.source} holds stamps out of order. {ANEW}")
        self.book.database.many(
            "UPDATE change SET raw = ?, received = ? WHERE id = ?",
            [(change["raw"], change["received"], change["id"]) for change in run],
        )

    def _refuse(self, key: str, reason: str) -> NoReturn:
        raise BookError(f"{self.source}, change {key}: {reason} {ANEW}")

    def contested(self, batch: list[dict[str, Any]]) -> None:
        """Take in what was kept apart, unless the book has it."""
        rows = [(one["id"], one["content"], one["received"]) for one in batch]
        self.book.database.many(APART, [(*row, *row[:2]) for row in rows])


def _content(change: dict[str, Any]) -> list[str]:
    text = rules.as_text(change["value"])
    return [change["kind"], change["record"], change["field"], text, change["device"]]


def _runs(changes: Iterable[dict[str, Any]]) -> Iterator[list[dict[str, Any]]]:
    """Part the changes where a stamp goes back: a batch is numbered in the order of its stamps."""
    run: list[dict[str, Any]] = []
    for change in changes:
        if run and change["stamp"] < run[-1]["stamp"]:
            yield run
            run = []
        run.append(change)
    if run:
        yield run
