"""The list of breeds for the phone: what it says of each, and that it stays small."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterable
from typing import Any

import pytest

from ringside.domain.breed_index import breed_index, breed_names, plain
from ringside.domain.exam import figure
from ringside.knowledge import load
from ringside.knowledge.breeds import Breeds
from ringside.knowledge.schema import Breed
from tests.support import ROOT

KNOWLEDGE = load()
VECTORS = json.loads((ROOT / "tests" / "vectors" / "breeds.json").read_text(encoding="utf-8"))
WHIP = {"body": "light", "legs": "long", "ears": "drop", "tail": "whip"}


def breed(name: str, bodies: Iterable[str] = ("FCI",), **more: Any) -> Breed:
    text = {"body": "A body", "title": "A text", "checked": "2026-01-01"}
    standards = [{"id": f"s{place}", "of": body, **text} for place, body in enumerate(bodies)]
    asks = [{"point": "head", "standard": standards[0]["id"], "weight": "fault", "says": "Flat."}]
    data = {
        "name": name, "examined_on": "ground", "examined_on_source": "common practice",
        "short_faced": False, "build": "square", "standard": standards, "ask": asks,
    }  # fmt: skip
    return Breed.model_validate(data | more)


INVENTED = {
    "marsh-hound": breed(
        "Marsh Hound", also=["Marshmaster", "Hound Marshmaster"], build="tall", drawing=WHIP
    ),
    "own-fen-hound": breed("Fen Hound"),
    "fen-hound": breed(
        "Fen Hound", ["AKC", "FCI", "AKC"], also=["Fenmaster", "Chien Fenmaster"], build="tall",
        coat="wire", topline="arched", drawing=WHIP,
    ),
    "st-ola-s-terrier": breed("St. Ola's Terrier", also=["Olater"], examined_on="table"),
    "fenland-spitz": breed(
        "Fenland Spitz (Small)", ["KC"], also=["Fenspitz", "Klein-Fenspitz"], examined_on="table",
        coat="double", varieties=[{"name": "Rough-haired"}, {"name": "Smooth-haired"}],
    ),
    "osterbarrel-dog": breed("Österbarrel", also=["Grønhund"], short_faced=True, build="short"),
}  # fmt: skip


def told(breeds: dict[str, Breed]) -> tuple[Any, Any]:
    known = dataclasses.replace(KNOWLEDGE, breeds=Breeds({}, breeds))
    return tuple(json.loads(json.dumps(tell(known))) for tell in (breed_index, breed_names))


def test_it_is_told_as_the_phone_expects_it() -> None:
    assert told(INVENTED) == (VECTORS["told"], VECTORS["named_too"])


@pytest.mark.parametrize("case", VECTORS["plain"], ids=lambda case: case["why"])
def test_words_are_compared_as_on_the_phone(case: Any) -> None:
    assert plain(case["words"]) == case["is"]


def test_without_a_breed_there_is_nothing_to_tell() -> None:
    assert not any(value for columns in told({}) for value in columns.values())


def test_every_shipped_breed_is_in_it_with_what_its_file_says() -> None:
    index, also = breed_index(KNOWLEDGE), breed_names(KNOWLEDGE)["also"].split("|")
    assert len(also) == len(index["names"])
    assert index["names"] == sorted(
        (breed.name for breed in KNOWLEDGE.breeds.profiles.values()), key=plain
    )
    for place, name in enumerate(index["names"]):
        key = index["ids"].get(place) or plain(name).replace(" ", "-")
        held = KNOWLEDGE.breeds[key]
        fact = {
            of: values[int(index["signs"][of][place], 36)] for of, values in index["values"].items()
        }
        assert held.name == name
        assert (fact["surface"], fact["short_faced"]) == (held.examined_on, held.short_faced)
        assert {of: fact[of] for of in figure(held, True)} == figure(held, held.short_faced)
        assert set(fact["bodies"].split()) == {standard.of for standard in held.standard}
        words = {*plain(name).split(), *also[place].split()}
        assert {word for other in held.also for word in plain(other).split()} <= words


def test_no_two_shipped_breeds_have_the_same_name() -> None:
    names = [plain(breed.name) for breed in KNOWLEDGE.breeds.profiles.values()]
    assert len(set(names)) == len(names)
