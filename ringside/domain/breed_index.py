"""The list of all breeds for the phone: to draw a dog of any, and to find one by any of its names.

Every phone has it, so it is told in columns and in few letters; static/js/core/breeds.js makes
rows of it again, and tests/vectors/breeds.json holds the two together. Names besides the first are
wanted on one screen only, and so are apart: those of a breed's file, and what it is called for
short. How they are looked through as one types is the phone's alone.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import Any, get_args

from ringside.domain.exam import figure
from ringside.domain.traits import apart
from ringside.domain.varieties import choices
from ringside.knowledge.loader import Knowledge
from ringside.knowledge.schema import Body, Profile

Data = dict[str, Any]

SIGNS = "0123456789abcdefghijklmnopqrstuvwxyz"
# Letters that are no other letter with a mark, as people type them who lack them.
_LETTERS = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ı": "i", "æ": "ae", "œ": "oe", "ß": "ss"})
_MARKS = re.compile(r"[\u0300-\u036f.]")
_APART = re.compile(r"[^a-z0-9]+")
_PARTS = re.compile(r"[;|]")


def breed_index(knowledge: Knowledge) -> Data:
    """Return what every screen may need of a breed, sorted by name, in columns.

    {"names": [name, ...], "ids": {place: id where it does not follow from the name}, "values":
    {fact: [value, ...]}, "signs": {fact: text}, "kinds": {place: {choice: {trait: value}}}}: the
    sign of a breed in that text, one for each breed, is the place of its value; `kinds` are told
    where varieties differ in what cues depend on (see `traits.apart`).
    """
    breeds = _in_order(knowledge)
    facts = [_facts(breed) for breed in breeds.values()]
    columns = {fact: [of[fact] for of in facts] for fact in (facts[0] if facts else ())}
    values = {fact: list(dict.fromkeys(column)) for fact, column in columns.items()}
    return {
        "names": [breed.name for breed in breeds.values()],
        "ids": {
            place: key
            for place, (key, breed) in enumerate(breeds.items())
            if key != plain(breed.name).replace(" ", "-")
        },
        "values": values,
        "signs": {fact: _signs(column, values[fact]) for fact, column in columns.items()},
        "kinds": {
            place: told for place, breed in enumerate(breeds.values()) if (told := apart(breed))
        },
    }


def breed_names(knowledge: Knowledge) -> Data:
    """Return what else breeds are called, in the order of the index.

    {"also": "another name;a third|names of the second breed|...", "varieties": {place: [what a dog
    of it may be chosen to be, ...]}}. A name that is compared as another of the breed is left out.
    """
    breeds = _in_order(knowledge)
    return {
        "also": "|".join(
            ";".join(_further(breed, knowledge.short_names.get(key, ())))
            for key, breed in breeds.items()
        ),
        "varieties": {
            place: list(choices(breed))
            for place, breed in enumerate(breeds.values())
            if breed.varieties
        },
    }


def plain(words: str) -> str:
    """Return words as they are compared: small letters and digits without marks, one space apart.

    What was typed is compared so, too.
    """
    bare = _MARKS.sub("", unicodedata.normalize("NFD", words.lower()).translate(_LETTERS))
    return _APART.sub(" ", bare).strip()


def _in_order(knowledge: Knowledge) -> Mapping[str, Profile]:
    breeds = knowledge.breeds.profiles.items()
    return dict(sorted(breeds, key=lambda item: (plain(item[1].name), item[0])))


def _facts(breed: Profile) -> Mapping[str, Hashable]:
    bodies = {standard.of for standard in breed.standard}
    return {
        "surface": breed.examined_on,
        "bodies": " ".join(body for body in get_args(Body) if body in bodies),
        **figure(breed, breed.short_faced),
        "feet": breed.feet,
        "size": breed.size,
    }


def _signs(column: Sequence[Hashable], values: Sequence[Hashable]) -> str:
    places = {value: SIGNS[place] for place, value in enumerate(values)}
    return "".join(places[value] for value in column)


def _further(breed: Profile, short: Sequence[str]) -> Iterable[str]:
    """Return a breed's other names, each once. Signs that part names here stand in none there."""
    names = {plain(breed.name): ""}
    for name in (*breed.also, *short):
        names.setdefault(plain(name), _PARTS.sub(" ", name))
    return filter(None, names.values())
