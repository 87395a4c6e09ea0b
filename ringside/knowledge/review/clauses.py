"""Reading what a line of a standard calls wanted, allowed or wrong, as far as that is plain.

A line is written by people for people. What is not plain is let be: a false alarm teaches writers
not to look.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from ringside.knowledge.schema import Ask

Words = Mapping[str, re.Pattern[str]]

_CLAUSE = re.compile(r"[;:.]|\bbut\b")
_ITEM = re.compile(r",|\bor\b|\band\b")
_DENIES = re.compile(
    r"\b(?:not|no|never|nor|neither|without|any bite|other than|less|faulty|fault|avoid(?:ed)?)\b"
)
_ALLOWS = re.compile(
    r"\b(?:accepted|acceptable|allowed|permitted|permissible|tolerated|admitted|may|passes?"
    r"|preferred|ideal(?:ly)?)\b"
)


@dataclass(frozen=True)
class Said:
    """What a line asks for, and with it what it also puts up with."""

    asked: frozenset[str] = frozenset()
    good: frozenset[str] = frozenset()


def wanted(says: str, words: Words) -> Said:
    """Return what a line that describes the right dog names of `words`."""
    asked: set[str] = set()
    good: set[str] = set()
    for clause in _CLAUSE.split(says.casefold()):
        named = {name for name, pattern in words.items() if pattern.search(clause)}
        if _DENIES.search(clause):
            continue
        good |= named
        if not _ALLOWS.search(clause):
            asked |= named
    return Said(frozenset(asked), frozenset(good))


def plainly_named(says: str, words: Words, fillers: frozenset[str]) -> frozenset[str]:
    """Return what a line that lists faults names of `words`, with nothing to narrow it down.

    An item counts if all its other words are `fillers`: "overshot or undershot by 2 mm" names
    overshot alone.
    """
    found: set[str] = set()
    for item in (
        item for clause in re.split(r"[;:.]", says.casefold()) for item in _ITEM.split(clause)
    ):
        named = {name for name, pattern in words.items() if pattern.search(item)}
        rest = item
        for name in named:
            rest = words[name].sub(" ", rest)
        if named and set(re.findall(r"[a-z0-9]+", rest)) <= fillers:
            found |= named
    return frozenset(found)


def same_variety(one: Ask, other: Ask) -> bool:
    """Whether both asks can be about one dog, as far as varieties go."""
    return not one.variety or not other.variety or one.variety == other.variety


def right_and_wrong(one: Ask, other: Ask) -> tuple[Ask, Ask] | None:
    """Return the ask that requires and the one that bars what it names, where they are such a pair
    and can be about one dog; otherwise None."""
    right, wrong = (one, other) if one.weight == "required" else (other, one)
    is_pair = right.weight == "required" and wrong.weight in ("disqualifying", "serious")
    return (right, wrong) if is_pair and same_variety(one, other) else None
