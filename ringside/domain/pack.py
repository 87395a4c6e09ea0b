"""What the phone is given to look things up in: a pack per dog, and the general cards.

A pack is computed here and only read there. Its hash lets the phone ask for no more than changed.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from datetime import date
from itertools import product
from typing import Any, Protocol, get_args

from ringside.domain import eligibility, titles
from ringside.domain.asked import asked
from ringside.domain.bounds import bounds
from ringside.domain.dog import Dog
from ringside.domain.exam import Data, compose_asks, compose_general, source_of
from ringside.domain.limits import all_limits
from ringside.domain.practice import pack_practice
from ringside.domain.proportions import proportions
from ringside.domain.says import FINDINGS
from ringside.knowledge.loader import Knowledge
from ringside.knowledge.schema import (
    COMMON_PRACTICE,
    FROM_MEMORY,
    Body,
    Sex,
    Source,
    Surface,
)
from ringside.knowledge.texts import texts

# A first prize is an award in every body's ring, and decides on some classes.
FIRST = "class-first"
FIRST_NAME = "First prize in a class"


def pack(knowledge: Knowledge, dog: Dog) -> Data:
    """Return everything computed for one dog: its card, limits, proportions, entry and titles.

    The same on every day, so that a phone fetches it again only when the dog has changed. The
    card is given as what sets it apart from a general card, which every phone has: `key` names
    that card, `asks` are what the standard asks by station. Asks of all kinds are the whole
    breed's: the phone takes those of the dog's sex and variety, and has some for another dog of it.
    What is not on the dog's record was not won and is not held.
    """
    tallies, breed = _tallies(knowledge, dog), knowledge.breeds.get(dog.breed)
    data: Data = {
        "card": packed_card(knowledge, dog),
        "limits": all_limits(breed),
        "proportions": proportions(knowledge.photo, breed),
        "titles": tallies,
    }
    if dog.born:
        whole = _with_titles(dog, tallies)
        data["enter"] = eligibility.pack_windows(knowledge.regulations, whole)
    return data


def packed_card(knowledge: Knowledge, dog: Dog) -> Data:
    """Return the card of a pack: what sets the dog's own apart from a general card, and its key."""
    card = compose_asks(knowledge, dog)
    key = general_key(dog.sex, card["surface"], card.pop("short_faced"))
    return {**card, "key": key}


def _tallies(knowledge: Knowledge, dog: Dog) -> Data:
    """Weigh the awards as of the last of them: what they come to does not change by waiting."""
    as_of = max((award.day for award in dog.awards or ()), default=date.min)
    return titles.pack_titles(knowledge.titles, dog, as_of)


def _with_titles(dog: Dog, tallies: Data) -> Dog:
    """Return the dog with the titles that its awards were found to earn, held from that day."""
    earned = {
        title["id"]: date.fromisoformat(title["earned"])
        for title in tallies["titles"]
        if "earned" in title
    }
    return replace(dog, titles={**(dog.titles or {}), **earned}, awards=dog.awards or ())


def _held_names(knowledge: Knowledge, body: Body) -> dict[str, str]:
    """Return the names of what can be written down as held: the body's titles, then its tests."""
    of_body = [title.title for title in knowledge.titles.titles.values() if title.body == body]
    tests = [route.test for title in of_body for route in title.route if route.test]
    return {title.id: title.name for title in of_body} | {
        test.test: f"Passed: {test.says}" for test in tests
    }


def digest(data: Any) -> str:
    """Return 16 hex digits that change whenever `data` (plain JSON data) does."""
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def general_key(sex: Sex | None, surface: Surface, short_faced: bool) -> str:
    """Return the key of a general card; the phone forms the same from a dog it holds."""
    return f"{sex or 'dog'}-{surface}-{'short' if short_faced else 'any'}"


def general_cards(knowledge: Knowledge) -> Data:
    """Return the cards for dogs without a pack, by key, each distinct station stored once. Of the
    cues the phone takes those that suit the dog (`traits.suits`).

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
        card = compose_general(knowledge, Dog(sex=sex, surface=surface, short_faced=short_faced))
        sources |= card.pop("sources")
        card["phases"] = [
            {**phase, "stations": [place(station) for station in phase["stations"]]}
            for phase in card["phases"]
        ]
        cards[general_key(sex, surface, short_faced)] = card
    return {"stations": stations, "cards": cards, "sources": sources}


def reasons_apart(general: Data) -> tuple[Data, list[str]]:
    """Return the general cards with a number for why each cue is given, and all those reasons.

    Nobody looks for a reason in the ring, so a phone keeps them after what a show needs.
    """
    reasons: dict[str, int] = {}

    def numbered(cue: Data) -> Data:
        return {**cue, "why": reasons.setdefault(cue["why"], len(reasons))}

    stations = [
        {**station, "cues": [numbered(cue) for cue in station["cues"]]}
        for station in general["stations"]
    ]
    return {**general, "stations": stations}, list(reasons)


def rules_book(knowledge: Knowledge) -> Data:
    """Return what is the same for all dogs at a show: classes, the gate, what forms believe."""
    return {
        "windows": eligibility.pack_rules(knowledge.regulations),
        "bars": eligibility.pack_bars(knowledge.regulations),
        "gate": {
            "groups": [group.model_dump() for group in knowledge.gate.group],
            "items": [item.model_dump(exclude_none=True) for item in knowledge.gate.item],
        },
        "says": dict(FINDINGS),
        "bounds": bounds(knowledge),
        "chips": knowledge.chips.model_dump(include={"number", "maker", "country"}),
    }


def home_book(knowledge: Knowledge) -> Data:
    """Return what is the same for all dogs at home: awards and titles by name, which awards are
    rare, what is asked of each body's, bodies' habits, and what rehearsals go by.
    """
    practice, known = pack_practice(knowledge), knowledge.sources
    used = {line["source"] for part in practice.values() for line in part} & set(known)
    return {
        "awards": {
            body: {FIRST: FIRST_NAME} | {key: kind.name for key, kind in kinds.items()}
            for body, kinds in knowledge.titles.kinds.items()
        },
        "rare": {
            body: [key for key, kind in kinds.items() if kind.rare]
            for body, kinds in knowledge.titles.kinds.items()
        },
        "asked": asked(knowledge.titles, knowledge.regulations),
        "held": {body: _held_names(knowledge, body) for body in knowledge.titles.kinds},
        "habits": eligibility.pack_habits(knowledge.regulations),
        "practice": {**practice, "sources": {key: source_of(known[key]) for key in sorted(used)}},
    }


def words_book(knowledge: Knowledge) -> Data:
    """Return the glossary: {"terms": [term as in the files, ...], "sources": {id: source}}.

    Of a term what is empty or false is left out.
    """
    terms = [
        {key: value for key, value in term.model_dump(mode="json").items() if value}
        for term in sorted(knowledge.terms, key=lambda term: term.name.casefold())
    ]
    named = {term.source for term in knowledge.terms} & set(knowledge.sources)
    return {
        "terms": terms,
        "sources": {key: source_of(knowledge.sources[key]) for key in sorted(named)},
    }


class Sourced(Protocol):
    """A line of the knowledge that says where it comes from."""

    @property
    def source(self) -> str:
        """The id of a text, or how else we know it."""


def sources_book(knowledge: Knowledge) -> Data:
    """Return every published text the knowledge rests on, and how much rests on none."""
    rows = [_text(text) for text in texts(knowledge)]
    practice = knowledge.practice
    lines: list[Sourced] = [
        *knowledge.cues,
        *knowledge.cautions,
        *knowledge.stations.values(),
        *knowledge.gate.item,
        *knowledge.terms,
        *practice.call,
        *practice.turn,
        *practice.evidence,
        *practice.care,
        *knowledge.ring.pace,
        *knowledge.ring.habit,
        *knowledge.ring.step,
        *knowledge.condition.score,
        *knowledge.condition.line,
        *knowledge.puppies.check,
        *knowledge.puppies.look,
        *knowledge.puppies.line,
        *knowledge.countdown.task,
        *knowledge.countdown.caution,
        *knowledge.heat.aid,
        *knowledge.heat.sign,
        *knowledge.heat.limit,
        *knowledge.heat.risk,
        *knowledge.heat.line,
        *knowledge.photo.view,
        *knowledge.photo.mark,
        *knowledge.photo.measure,
        *knowledge.photo.refused,
        *knowledge.photo.line,
        *knowledge.results.placing,
        *knowledge.results.grade,
        *knowledge.results.only,
        *knowledge.results.line,
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
