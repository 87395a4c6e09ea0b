"""The packs of the dogs in the book, computed by the domain and kept while nothing changes."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from ringside.book.store import Book
from ringside.domain.exam import Dog
from ringside.domain.pack import digest, pack
from ringside.knowledge import Knowledge

Data = dict[str, Any]


@dataclass
class PackShelf:
    """Hands out packs by hash. One per process; a change to any dog renews what differs."""

    knowledge: Knowledge
    _upto: int = -1
    _hashes: dict[str, str] = field(default_factory=dict)
    _packs: dict[Dog, tuple[str, Data]] = field(default_factory=dict)
    _dogs: dict[str, Dog] = field(default_factory=dict)
    _whole: str = ""

    def offer(self, book: Book, held: str | dict[str, str] | None) -> Data:
        """Return what a phone needs that holds `held`: a digest of all its packs, or each hash.

        {} when nothing differs; {"wanted": true} when a digest differs and the hashes are
        wanted; else {"packs": {dog: pack}, "hashes": {dog: hash}, "whole": digest}.
        """
        self._renew(book)
        if held is None or held == self._whole:
            return {}
        if isinstance(held, str):
            return {"wanted": True}
        return {
            "packs": {
                dog: self._packs[self._dogs[dog]][1]
                for dog, known in self._hashes.items()
                if held.get(dog) != known
            },
            "hashes": self._hashes,
            "whole": self._whole,
        }

    def _renew(self, book: Book) -> None:
        upto = book.dogs_as_of()
        if upto == self._upto:
            return
        dogs = {key: as_dog(values) for key, values in book.records("dog").items()}
        packs = {dog: self._packs.get(dog) or self._made(dog) for dog in dogs.values()}
        hashes = {key: packs[dog][0] for key, dog in dogs.items()}
        self._dogs, self._packs, self._hashes = dogs, packs, hashes
        self._whole = digest(hashes)
        self._upto = upto

    def _made(self, dog: Dog) -> tuple[str, Data]:
        made = pack(self.knowledge, dog)
        return digest(made), made


def as_dog(values: Data) -> Dog:
    """Return what the card depends on from a dog's record."""
    born = values.get("born")
    return Dog(
        breed=values.get("breed") or "",
        sex=values.get("sex"),
        born=date.fromisoformat(born) if born else None,
        surface=values.get("surface"),
        body=values.get("body") or "FCI",
        short_faced=values.get("short_faced"),
    )
