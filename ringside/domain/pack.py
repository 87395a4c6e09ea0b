"""What the phone is given to look things up in: a pack per dog, and the general cards.

A pack is computed here and only read there. Its hash lets the phone ask for no more than changed.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import product
from typing import Any, cast, get_args

from ringside.domain import eligibility, exam, titles
from ringside.domain.exam import Data, compose, compose_asks
from ringside.domain.limits import limits
from ringside.knowledge.loader import Knowledge
from ringside.knowledge.regulation_schema import Kind, Win
from ringside.knowledge.schema import (
    COMMON_PRACTICE,
    FROM_MEMORY,
    Body,
    Caution,
    Cue,
    GateItem,
    Sex,
    Source,
    Station,
    Surface,
)
from ringside.knowledge.texts import texts

# A first prize is an award in every body's ring, and decides on some classes.
FIRST = "class-first"
FIRST_NAME = "First prize in a class"
# A kind of show is written "championship-cc" where the breed had challenge certificates.
WITH_CCS = "-cc"
_POINTS: Mapping[Body, Win] = {"AKC": "championship-points", "DA": "challenge-points"}
_BARRING = frozenset(get_args(Win))


@dataclass(frozen=True)
class Subject:
    """What the book holds of a dog. `classes` tells for each of `wins` the class it was won in."""

    dog: exam.Dog
    testes: eligibility.Felt | None = None
    neutered: bool | None = None
    born_in: str | None = None
    wins: tuple[titles.Award, ...] = ()
    classes: tuple[str, ...] = ()


def pack(knowledge: Knowledge, subject: Subject) -> Data:
    """Return everything computed for one dog: its card, limits, windows of entry and titles.

    The same on every day, so that a phone fetches it again only when the dog has changed. The
    card is given as what sets it apart from a general card, which every phone has: `key` names
    that card, `asks` are what the standard asks by station.
    """
    breed = knowledge.breeds.get(subject.dog.breed)
    tallies = _tallies(knowledge, subject)
    data: Data = {
        "card": _card(knowledge, subject.dog),
        "limits": limits(breed, subject.dog.sex),
        "titles": tallies,
    }
    if subject.dog.born:
        facts = _facts(subject, tallies)
        data["enter"] = eligibility.pack_windows(knowledge.regulations, facts)
    return data


def _card(knowledge: Knowledge, dog: exam.Dog) -> Data:
    card = compose_asks(knowledge, dog)
    key = general_key(dog.sex, card["surface"], card.pop("short_faced"))
    return {**card, "key": key}


def _tallies(knowledge: Knowledge, subject: Subject) -> Data:
    """Weigh the awards as of the last of them: what they come to does not change by waiting."""
    days = [win.day for win in subject.wins]
    as_of = max(days, default=date.min)
    dog = titles.Dog(born=subject.dog.born)
    return titles.pack_titles(knowledge.titles, dog, subject.wins, as_of, subject.dog.body)


def _facts(subject: Subject, tallies: Data) -> eligibility.DogFacts:
    """Return what a ruling depends on. The book is the record: what is not in it was not won.

    Titles found earned count as held from that day.
    """
    assert subject.dog.born
    earned = {
        title["id"]: date.fromisoformat(title["earned"])
        for title in tallies["titles"]
        if "earned" in title
    }
    return eligibility.DogFacts(
        born=subject.dog.born,
        sex=subject.dog.sex,
        neutered=subject.neutered,
        testes=subject.testes,
        born_in=subject.born_in,
        titles=earned,
        awards=tuple(_won(subject)),
    )


def _won(subject: Subject) -> Iterator[eligibility.Award]:
    for win, klass in zip(subject.wins, subject.classes, strict=True):
        for name in (win.kind, _POINTS.get(win.body, "") if win.points else ""):
            if name in _BARRING:
                yield eligibility.Award(
                    award=cast("Win", name),
                    body=win.body,
                    on=win.day,
                    klass=klass or None,
                    kind=cast("Kind | None", win.show_kind.removesuffix(WITH_CCS) or None),
                    ccs=True if win.show_kind.endswith(WITH_CCS) else None,
                    points=win.points or 1,
                )


def digest(data: Any) -> str:
    """Return 16 hex digits that change whenever `data` (plain JSON data) does."""
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def general_key(sex: Sex | None, surface: Surface, short_faced: bool) -> str:
    """Return the key of a general card; the phone forms the same from a dog it holds."""
    return f"{sex or 'dog'}-{surface}-{'short' if short_faced else 'any'}"


def general_cards(knowledge: Knowledge) -> Data:
    """Return the cards for dogs without a pack, by key, each distinct station stored once.

    Shape: {"stations": [station, ...], "cards": {key: {..., "phases": [{..., "stations":
    [index, ...]}]}}, "sources": {id: source}}.
    """
    stations: list[Data] = []
    places: dict[str, int] = {}
    cards: dict[str, Data] = {}
    sources: Data = {}

    def place(station: Data) -> int:
        key = json.dumps(station, sort_keys=True)
        if key not in places:
            places[key] = len(stations)
            stations.append(station)
        return places[key]

    variants = product(get_args(Sex), get_args(Surface), (False, True))
    for sex, surface, short_faced in variants:
        card = compose(knowledge, exam.Dog(sex=sex, surface=surface, short_faced=short_faced))
        sources |= card.pop("sources")
        card["phases"] = [
            {**phase, "stations": [place(station) for station in phase["stations"]]}
            for phase in card["phases"]
        ]
        cards[general_key(sex, surface, short_faced)] = card
    return {"stations": stations, "cards": cards, "sources": sources}


def rules_book(knowledge: Knowledge) -> Data:
    """Return what is the same for all dogs when a class, an award or the gate is shown."""
    return {
        "windows": eligibility.pack_rules(knowledge.regulations),
        "awards": {
            body: {FIRST: FIRST_NAME} | {key: kind.name for key, kind in kinds.items()}
            for body, kinds in knowledge.titles.kinds.items()
        },
        "gate": {
            "groups": [group.model_dump() for group in knowledge.gate.group],
            "items": [item.model_dump(exclude_none=True) for item in knowledge.gate.item],
        },
        "chips": knowledge.chips.model_dump(include={"number", "maker", "country"}),
    }


def sources_book(knowledge: Knowledge) -> Data:
    """Return every published text the knowledge rests on, and how much rests on none."""
    rows = [_text(text) for text in texts(knowledge)]
    lines: list[Cue | Caution | Station | GateItem] = [
        *knowledge.cues,
        *knowledge.cautions,
        *knowledge.stations.values(),
        *knowledge.gate.item,
    ]
    return {
        "sources": sorted(rows, key=lambda row: (row["body"], row["title"])),
        "common": sum(line.source == COMMON_PRACTICE for line in lines),
        "memory": sum(line.source == FROM_MEMORY for line in lines) + knowledge.breeds.from_memory,
    }


def _text(text: Source) -> Data:
    names = ("body", "title", "number", "date", "address", "read", "note")
    data = {name: value for name in names if (value := getattr(text, name, ""))}
    return data | {"checked": text.checked.isoformat()}
