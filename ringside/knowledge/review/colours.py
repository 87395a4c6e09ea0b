"""A colour that the same body lists as right and as wrong."""

from __future__ import annotations

import re

from ringside.knowledge.review.clauses import right_and_wrong
from ringside.knowledge.schema import Ask

_COLOURS = frozenset({
    "albino", "apricot", "black", "blue", "brindle", "brown", "chocolate", "cream", "fawn",
    "gold", "golden", "grey", "harlequin", "lemon", "liver", "merle", "orange", "pied", "red",
    "sable", "silver", "tricolour", "wheaten", "white", "yellow",
})  # fmt: skip
_FAMILIES = (
    frozenset({"grey", "silver", "blue"}),
    frozenset({"brown", "liver", "chocolate"}),
    frozenset({
        "apricot", "cream", "fawn", "gold", "golden", "lemon", "orange", "red", "sable", "wheaten",
        "yellow",
    }),
)  # fmt: skip
_FILLERS = frozenset({
    "a", "solid", "self", "pure", "whole", "plain", "all", "wholly", "coat", "coats", "colour",
    "colours", "only",
})  # fmt: skip
_ITEM = re.compile(r",|\bor\b")
_OTHER = re.compile(
    r"^(?:any|all)(?: other)? colours? (?:but|except|other than) (?P<right>[^;:.]+)"
)


def concerned(ask: Ask) -> bool:
    """Whether the ask is about colour."""
    return ask.point == "colour"


def clash(one: Ask, other: Ask) -> str:
    """Return what is wrong between two asks of one body, "" if they may stand together."""
    if not (pair := right_and_wrong(one, other)):
        return ""
    right, wrong = pair
    both = allowed(right.says) & faulty(wrong.says)
    return f"the same colour ({', '.join(sorted(both))}) is right and wrong" if both else ""


def allowed(says: str) -> frozenset[str]:
    """Return the colours that a line allows by themselves: those of the list it begins with."""
    first, *_ = re.split(r"[;:.]", says.casefold(), maxsplit=1)
    colours = [_colour(item) for item in _ITEM.split(first)]
    return frozenset(filter(None, colours)) if colours[0] else frozenset()


def faulty(says: str) -> frozenset[str]:
    """Return the colours that a line of faults names, by themselves or as all but some."""
    line = says.casefold().strip(" .")
    other = _OTHER.search(line)
    if other:
        right = _listed(other["right"])
        return _COLOURS - _and_shades(right) if right else frozenset()
    return _listed(line.replace(";", ","))


def _and_shades(colours: frozenset[str]) -> frozenset[str]:
    """Return `colours` with those that people call the same dog by."""
    return colours.union(*(family for family in _FAMILIES if family & colours))


def _listed(words: str) -> frozenset[str]:
    """Return the colours of a line that is nothing but a list of single ones."""
    colours = [_colour(item) for item in _ITEM.split(words) if item.strip()]
    return frozenset(colours) if all(colours) else frozenset()


def _colour(item: str) -> str:
    """Return the one colour of an item, "" if it says more or less than that."""
    words = [word for word in re.findall(r"[a-z]+", item) if word not in _FILLERS]
    return words[0] if len(words) == 1 and words[0] in _COLOURS else ""
