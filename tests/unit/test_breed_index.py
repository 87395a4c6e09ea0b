"""The list of breeds for the phone: what it says of each, and that it stays small."""

from __future__ import annotations

import dataclasses
import gzip
import json
from collections.abc import Iterable
from typing import Any

import pytest

from ringside.domain.breed_index import breed_index, breed_names, plain
from ringside.domain.exam import figure
from ringside.domain.traits import apart
from ringside.knowledge.breeds import Breeds
from ringside.knowledge.schema import Breed
from tests.known import shipped
from tests.support import ROOT

KNOWLEDGE = shipped()
VECTORS = json.loads((ROOT / "tests" / "vectors" / "breeds.json").read_text(encoding="utf-8"))
WHIP = {"body": "light", "legs": "long", "ears": "drop", "tail": "whip"}


def breed(name: str, bodies: Iterable[str] = ("FCI",), **more: Any) -> Breed:
    text = {"body": "A body", "title": "A text", "checked": "2026-01-01"}
    standards = [{"id": f"s{place}", "of": body, **text} for place, body in enumerate(bodies)]
    asks = [{"point": "head", "standard": standards[0]["id"], "weight": "fault", "says": "Flat."}]
    data = {
        "name": name, "examined_on": "ground", "examined_on_source": "common practice",
        "short_faced": False, "standard": standards, "ask": asks,
    }  # fmt: skip
    return Breed.model_validate(data | more)


INVENTED = {
    "marsh-hound": breed(
        "Marsh Hound", also=["Marshmaster", "Hound Marshmaster", "Reed;Reeder"], drawing=WHIP,
        varieties=[
            {"name": "Small", "by": "size", "size": "small"},
            {"name": "Large", "by": "size", "size": "large"},
            {"name": "Wire", "by": "coat"}, {"name": "Smooth", "by": "coat"},
        ],
    ),
    "own-fen-hound": breed("Fen Hound"),
    "fen-hound": breed(
        "Fen Hound", ["AKC", "FCI", "AKC"], also=["Fenmaster", "Chien Fenmaster"],
        coat="wire", topline="arched", drawing=WHIP,
    ),
    "st-ola-s-terrier": breed(
        "St. Ola's Terrier", also=["Olater"], examined_on="table", feet="out", size="large"
    ),
    "fenland-spitz": breed(
        "Fenland Spitz (Small)", ["KC"], also=["Fenspitz", "Klein-Fenspitz"], examined_on="table",
        coat="double", size="small",
        varieties=[{"name": "Rough-haired", "coat": "wire"}, {"name": "Smooth-haired"}],
    ),
    "osterbarrel-dog": breed("Österbarrel", also=["Grønhund"], short_faced=True),
}  # fmt: skip


def told(breeds: dict[str, Breed]) -> tuple[Any, Any]:
    short = {"fen-hound": ["Fenny", "FENMASTER"]}
    known = dataclasses.replace(KNOWLEDGE, breeds=Breeds({}, breeds), short_names=short)
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
        assert (fact["feet"], fact["size"]) == (held.feet, held.size)
        assert index["kinds"].get(place, {}) == apart(held)
        assert set(fact["bodies"].split()) == {standard.of for standard in held.standard}
        called = {plain(other) for other in (name, *also[place].split(";"))}
        short = KNOWLEDGE.short_names.get(key, ())
        assert {plain(other) for other in (*held.also, *short)} <= called


def test_no_two_shipped_breeds_have_the_same_name() -> None:
    names = [plain(breed.name) for breed in KNOWLEDGE.breeds.profiles.values()]
    assert len(set(names)) == len(names)


def test_short_names_are_of_breeds_and_stand_in_no_file_of_theirs() -> None:
    for key, short in KNOWLEDGE.short_names.items():
        breed = KNOWLEDGE.breeds.profiles[key]
        known = [plain(name) for name in (breed.name, *breed.also, *short)]
        assert not [name for name in short if known.count(plain(name)) > 1], key


def test_what_all_breeds_are_called_stays_small() -> None:
    """6 kB over what it was when only the words of the names were told."""
    told = json.dumps(breed_names(KNOWLEDGE), ensure_ascii=False, separators=(",", ":"))
    assert len(gzip.compress(told.encode(), 9, mtime=0)) < 4112 + 6000
