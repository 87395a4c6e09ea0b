"""The list of all breeds for the phone: to draw a dog of any, and to find one by any of its names.

Every phone has it, so it is told in columns and in few letters; static/js/core/breeds.js makes
rows of it again, and tests/vectors/breeds.json holds the two together. Names besides the first are
wanted on one screen only, and so are apart.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Hashable, Mapping, Sequence
from typing import Any, get_args

from ringside.domain.exam import figure
from ringside.knowledge.loader import Knowledge
from ringside.knowledge.schema import Body, Profile

Data = dict[str, Any]

SIGNS = "0123456789abcdefghijklmnopqrstuvwxyz"
# Letters that are no other letter with a mark, as people type them who lack them.
_LETTERS = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ı": "i", "æ": "ae", "œ": "oe", "ß": "ss"})
_MARKS = re.compile(r"[\u0300-\u036f.]")
_APART = re.compile(r"[^a-z0-9]+")


def breed_index(knowledge: Knowledge) -> Data:
    """Return what every screen may need of a breed, sorted by name, in columns.

    {"names": [name, ...], "ids": {place: id where it does not follow from the name}, "values":
    {fact: [value, ...]}, "signs": {fact: text}}: the sign of a breed in that text, one for each
    breed, is the place of its value.
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
    }


def breed_names(knowledge: Knowledge) -> Data:
    """Return what else breeds are called, in the order of the index.

    {"also": "further words the first is looked for by|those of the second|...", "varieties":
    {place: [name, ...]}}. The words hold letters and digits alone.
    """
    breeds = _in_order(knowledge).values()
    return {
        "also": "|".join(" ".join(_further(breed)) for breed in breeds),
        "varieties": {
            place: [variety.name for variety in breed.varieties]
            for place, breed in enumerate(breeds)
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
    }


def _signs(column: Sequence[Hashable], values: Sequence[Hashable]) -> str:
    places = {value: SIGNS[place] for place, value in enumerate(values)}
    return "".join(places[value] for value in column)


def _further(breed: Profile) -> list[str]:
    """Return the words of a breed's other names that do not stand in its name, each once."""
    own = plain(breed.name).split()
    return [word for word in dict.fromkeys(plain(" ".join(breed.also)).split()) if word not in own]
