"""The packs of the dogs in the book, computed by the domain and kept while nothing changes."""

from __future__ import annotations

import zlib
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from ringside.book.changes import as_text
from ringside.book.store import Book
from ringside.domain.dog import Award, Dog, Felt, kind_of_level
from ringside.domain.pack import digest, pack
from ringside.knowledge import Knowledge

Data = dict[str, Any]

# The days a pack is computed from. A year typed in part reads 0002, and no month follows 9999.
YEARS = range(1900, 2200)
# What a pack depends on besides the card: the phone compares it with the records it holds, to tell
# a pack that was made before something was written down there (static/js/cards.js has the same).
_OF_DOG = ("body", "testes", "testes_on", "neutered", "born_in")
_OF_AWARD = (
    "day", "body", "what", "judge", "judge_country", "country", "show", "level", "klass", "points",
    "major", "competing", "champions",
)  # fmt: skip


@dataclass(frozen=True)
class _Packs:
    """All packs as of one number of the book."""

    upto: int = -1
    made: dict[str, tuple[str, str, Data]] = field(default_factory=dict)  # dog: of, hash, pack
    hashes: dict[str, str] = field(default_factory=dict)
    whole: str = ""


@dataclass
class PackShelf:
    """Hands out packs by hash, one shelf a process; what changed in dogs or awards is made anew."""

    knowledge: Knowledge
    # Taken and put as one: several threads renew it.
    _present: _Packs = field(default_factory=_Packs)

    def offer(self, book: Book, held: str | dict[str, str] | None) -> Data:
        """Return what a phone needs that holds `held`: a digest of all its packs, or each hash.

        {} when nothing differs; {"wanted": true} when a digest differs and the hashes are
        wanted; else {"packs": {dog: pack}, "hashes": {dog: hash}, "whole": digest}.
        """
        present = self._present = self._renewed(book, self._present)
        if held is None or held == present.whole:
            return {}
        if isinstance(held, str):
            return {"wanted": True}
        return {
            "packs": {
                dog: present.made[dog][2]
                for dog, known in present.hashes.items()
                if held.get(dog) != known
            },
            "hashes": present.hashes,
            "whole": present.whole,
        }

    def _renewed(self, book: Book, before: _Packs) -> _Packs:
        upto = book.dogs_as_of()
        if upto == before.upto:
            return before
        won: dict[str, list[tuple[str, Data]]] = defaultdict(list)
        for key, values in book.records("award").items():
            won[values.get("dog") or ""].append((key, values))
        packs = {
            dog: self._made(before.made.get(dog), values, sorted(won[dog]))
            for dog, values in book.records("dog").items()
        }
        hashes = {dog: made for dog, (_, made, _) in packs.items()}
        return _Packs(upto, packs, hashes, digest(hashes))

    def _made(
        self,
        known: tuple[str, str, Data] | None,
        values: Data,
        awards: list[tuple[str, Data]],
    ) -> tuple[str, str, Data]:
        of = as_text([values, awards])
        if known and known[0] == of:
            return known
        made = pack(self.knowledge, as_dog(values, awards))
        made["of"] = made_from(values, awards)
        return of, digest(made), made


def made_from(values: Data, awards: Sequence[tuple[str, Data]]) -> list[Any]:
    """Return the fields of the dog a pack was made from, then a checksum of its awards."""
    lines = (
        "\x1f".join((key, *(_plain(award.get(name)) for name in _OF_AWARD)))
        for key, award in sorted(awards)
    )
    return [*(values.get(name) for name in _OF_DOG), zlib.adler32("\x1e".join(lines).encode())]


def _plain(value: Any) -> str:
    """Return a value as both languages write it."""
    if value is None or isinstance(value, str):
        return value or ""
    if isinstance(value, bool):
        return str(value).lower()
    return str(int(value)) if float(value).is_integer() else repr(value)


def as_dog(values: Data, awards: Sequence[tuple[str, Data]]) -> Dog:
    """Return what a pack is computed from: a dog's record, and its awards with their ids.

    The book is the record: what is not in it was not won. An award counts once its day and its
    body are known.
    """
    state = values.get("testes")
    return Dog(
        breed=values.get("breed") or "",
        sex=values.get("sex"),
        born=_day(values.get("born")),
        surface=values.get("surface"),
        body=values.get("body") or "FCI",
        short_faced=values.get("short_faced"),
        neutered=values.get("neutered"),
        testes=Felt(state, _day(values.get("testes_on"))) if state else None,
        born_in=values.get("born_in"),
        titles={},
        awards=tuple(
            _as_award(key, award, day)
            for key, award in awards
            if (day := _day(award.get("day"))) and award.get("body")
        ),
    )


def _day(written: str | None) -> date | None:
    """Return the day, None if there is none or it is so far off that the calendar ends near it."""
    day = date.fromisoformat(written) if written else None
    return day if day and day.year in YEARS else None


def _as_award(key: str, values: Data, day: date) -> Award:
    get = values.get
    show_kind, ccs = kind_of_level(get("level") or "")
    return Award(
        day=day,
        kind=get("what") or "",
        body=values["body"],
        judge=get("judge") or "",
        country=get("country") or "",
        judge_country=get("judge_country") or "",
        show=get("show") or "",
        show_kind=show_kind,
        ccs=ccs,
        klass=get("klass") or "",
        points=_whole(get("points")),
        major=get("major"),
        competing=_whole(get("competing")),
        champions=_whole(get("champions")),
        id=key,
    )


def _whole(number: float | None) -> int | None:
    return None if number is None else int(number)
