"""What the phone is given to look things up in: a pack per dog, and the general cards.

A pack is computed here and only read there. Its hash lets the phone ask for no more than changed.
"""

from __future__ import annotations

import hashlib
import json
from itertools import product
from typing import Any, get_args

from ringside.domain.exam import Data, Dog, compose
from ringside.knowledge.loader import Knowledge
from ringside.knowledge.schema import Sex, Surface


def pack(knowledge: Knowledge, dog: Dog) -> Data:
    """Return everything computed for one dog. Today that is its exam card."""
    return {"card": compose(knowledge, dog)}


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
    [index, ...]}]}}, "sources": {id: source}}. Lines for puppies come only with a pack.
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
        card = compose(knowledge, Dog(sex=sex, surface=surface, short_faced=short_faced))
        sources |= card.pop("sources")
        card["phases"] = [
            {**phase, "stations": [place(station) for station in phase["stations"]]}
            for phase in card["phases"]
        ]
        cards[general_key(sex, surface, short_faced)] = card
    return {"stations": stations, "cards": cards, "sources": sources}


def breed_index(knowledge: Knowledge) -> list[Data]:
    """Return what the breed search of the dog form shows, by name."""
    return [
        {
            "id": key,
            "name": breed.name,
            "surface": breed.examined_on,
            "short_faced": breed.short_faced,
            "figure": breed.build,
        }
        for key, breed in sorted(knowledge.breeds.items(), key=lambda item: item[1].name)
    ]
