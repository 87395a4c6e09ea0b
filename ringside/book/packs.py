"""The packs of the book, by kind and id, computed by the domain and kept while nothing changes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from ringside.book.kinds import PACKED, Kind
from ringside.book.store import Book
from ringside.domain.dog import Award, Dog, Felt, kind_of_level
from ringside.domain.pack import digest, pack
from ringside.domain.puppies import TESTES, felt, newest_check
from ringside.knowledge import Knowledge

Data = dict[str, Any]
Record = tuple[str, str]  # kind, id
# Makes the pack of one record, None if there is none to make.
Maker = Callable[[Knowledge, Book, str], Data | None]

# The days a pack is computed from. A year typed in part reads 0002, and no month follows 9999.
YEARS = range(1900, 2200)


def dog_pack(knowledge: Knowledge, book: Book, dog: str) -> Data | None:
    """Return the pack of a dog, of its record, awards, titles held and the testes as last felt."""
    values = book.record("dog", dog)
    if not values or values.get("deleted"):
        return None
    awards, titles, checks = (
        sorted(book.about(kind, dog).items()) for kind in ("award", "title", "check")
    )
    last = newest_check([check for _, check in checks], TESTES)
    values = {**values, **felt(values, last)}
    return pack(knowledge, as_dog(values, awards, [title for _, title in titles]))


MAKERS: Mapping[str, Maker] = {"dog": dog_pack}


@dataclass(frozen=True)
class _Packs:
    """All packs as of one number of the book, and which packs each record went into."""

    upto: int = -1
    made: Mapping[str, tuple[str, Data]] = field(default_factory=dict)  # key: hash, pack
    into: Mapping[Record, frozenset[Record]] = field(default_factory=dict)
    hashes: Mapping[str, str] = field(default_factory=dict)
    whole: str = ""


@dataclass
class PackShelf:
    """Hands out packs by hash, one shelf a process; what changed is made anew, and no more."""

    knowledge: Knowledge
    # Taken and put as one: several threads renew it.
    _present: _Packs = field(default_factory=_Packs)

    def offer(self, book: Book, held: str | dict[str, str] | None) -> Data:
        """Return what a phone needs that holds `held`: a digest of all its packs, or each hash.

        {} when nothing differs; {"wanted": true} when a digest differs and the hashes are
        wanted; else {"packs": {key: pack}, "hashes": {key: hash}, "whole": digest}, where a key is
        "kind/id".
        """
        present = self._present = self._renewed(book, self._present)
        if held is None or held == present.whole:
            return {}
        if isinstance(held, str):
            return {"wanted": True}
        return {
            "packs": {
                key: present.made[key][1]
                for key, known in present.hashes.items()
                if held.get(key) != known
            },
            "hashes": present.hashes,
            "whole": present.whole,
        }

    def _renewed(self, book: Book, before: _Packs) -> _Packs:
        upto = book.packed()
        if upto == before.upto:
            return before
        into = dict(before.into)
        stale: set[Record] = set()
        for kind, records in _changed(book, before.upto).items():
            for key, values in records.items():
                packs = packs_of(book.kinds[kind], key, values)
                stale |= into.get((kind, key), frozenset()) | packs
                into[kind, key] = packs
        made = dict(before.made)
        for kind, key in stale:
            new = MAKERS[kind](self.knowledge, book, key)
            if new is None:
                made.pop(f"{kind}/{key}", None)
            else:
                made[f"{kind}/{key}"] = digest(new), new
        hashes = {key: made[key][0] for key in sorted(made)}
        return _Packs(upto, made, into, hashes, digest(hashes))


def _changed(book: Book, after: int) -> dict[str, dict[str, Data]]:
    """Return {kind: {id: values}} of what packs are made from and changed behind a number."""
    if after < 0:
        return {kind: book.records(kind) for kind in PACKED}
    touched: dict[str, list[str]] = defaultdict(list)
    for kind, key in book.touched(after, PACKED):
        touched[kind].append(key)
    return {kind: book.some(kind, keys) for kind, keys in touched.items()}


def packs_of(kind: Kind, key: str, values: Data) -> frozenset[Record]:
    """Return the packs that are made from a record of `kind` with these values."""
    if kind.packs_where:
        name, wanted = kind.packs_where
        if values.get(name) != wanted:
            return frozenset()
    found = {(pack, key if pack == kind.name else values.get(pack)) for pack in kind.packs}
    return frozenset((pack, owner) for pack, owner in found if owner)


def as_dog(values: Data, awards: Sequence[tuple[str, Data]], titles: Sequence[Data] = ()) -> Dog:
    """Return what a pack is computed from: a dog's record, its awards with their ids, its titles.

    The book is the record: what is not in it was not won. An award counts once its day and its
    body are known. Titles and tests passed have names of their own, so each is looked up by both.
    """
    held = {title["what"]: _day(title.get("day")) for title in titles if title.get("what")}
    state = values.get("testes")
    return Dog(
        breed=values.get("breed") or "",
        variety=values.get("variety") or "",
        sex=values.get("sex"),
        born=_day(values.get("born")),
        surface=values.get("surface"),
        body=values.get("body") or "FCI",
        short_faced=values.get("short_faced"),
        neutered=values.get("neutered"),
        testes=Felt(state, _day(values.get("testes_on"))) if state else None,
        born_in=values.get("born_in"),
        trial=values.get("trial"),
        section=values.get("section") or "",
        titles=held,
        tests=held,
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
        breed_only=get("breed_only"),
        points=_whole(get("points")),
        major=get("major"),
        competing=_whole(get("competing")),
        champions=_whole(get("champions")),
        id=key,
    )


def _whole(number: float | None) -> int | None:
    return None if number is None else int(number)
