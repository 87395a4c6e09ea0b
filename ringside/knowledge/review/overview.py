"""What a look over the knowledge finds. Pure: the day is given.

A contradiction is an error in the files; the rest are notes for whoever keeps them. Form, and that
every fact names its source, the loader has made sure of before; whether a line is true nobody but a
reader of its text can tell.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from ringside.knowledge.breeds import OWN, file_of
from ringside.knowledge.loader import Knowledge
from ringside.knowledge.review import ages
from ringside.knowledge.review.contradictions import contradictions
from ringside.knowledge.review.coverage import points_read, without_glance
from ringside.knowledge.schema import Ask, Body, Breed, Read
from ringside.knowledge.texts import texts


@dataclass(frozen=True)
class Review:
    """What was found.

    `barring` are the disqualifications that were not read in a copy of the text, by how they are
    known, then by breed; `memory` counts all asks from memory by breed; `coverage` how many points
    of the card were read, by breed and body; `without_glance` the lines that lack, by station;
    `old` and `undated` texts by body.
    """

    contradictions: tuple[str, ...]
    barring: Mapping[Read, Mapping[str, tuple[str, ...]]]
    memory: Mapping[str, int]
    coverage: Mapping[str, Mapping[Body, int]]
    without_glance: Mapping[str, int]
    old: Mapping[str, tuple[str, ...]]
    undated: Mapping[str, tuple[str, ...]]


def review(knowledge: Knowledge, today: date) -> Review:
    """Look over all that is known, as of `today`."""
    found = list(texts(knowledge))
    breeds = {_name(key, breed): breed for key, breed in knowledge.breeds.items()}
    breeds = dict(sorted(breeds.items()))
    memory = {name: sum(ask.read == "memory" for ask in it.ask) for name, it in breeds.items()}
    return Review(
        contradictions=tuple(
            f"{file_of(key)}: {problem}"
            for key, breed in sorted(knowledge.breeds.items())
            for problem in contradictions(breed)
        ),
        barring={read: _barring(breeds, read) for read in ("memory", "secondary")},
        memory={name: number for name, number in memory.items() if number},
        coverage={name: points_read(breed) for name, breed in breeds.items()},
        without_glance=without_glance(breeds.values(), knowledge.stations),
        old=ages.old(found, today),
        undated=ages.undated(found),
    )


def _name(key: str, breed: Breed) -> str:
    return f"{breed.name} (own)" if key.startswith(OWN) else breed.name


def _barring(breeds: Mapping[str, Breed], read: Read) -> Mapping[str, tuple[str, ...]]:
    rows = {
        name: tuple(
            f"{_body(breed, ask)}: {ask.says}"
            for ask in breed.ask
            if ask.weight == "disqualifying" and ask.read == read
        )
        for name, breed in breeds.items()
    }
    return {name: lines for name, lines in rows.items() if lines}


def _body(breed: Breed, ask: Ask) -> Body:
    return next(standard.of for standard in breed.standard if standard.id == ask.standard)
