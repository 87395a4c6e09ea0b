"""Two asks about the bite of which a dog can fulfil one only."""

from __future__ import annotations

import re

from ringside.knowledge.review.clauses import (
    Said,
    Words,
    plainly_named,
    right_and_wrong,
    same_variety,
    wanted,
)
from ringside.knowledge.schema import Ask

_BITES: Words = {
    "scissors": re.compile(r"\bscissors?\b"),
    "level": re.compile(r"\blevel\b|\bpincers?\b|\bbites? even\b|\beven bites?\b|\bedge to edge\b"),
    "undershot": re.compile(r"\bunder-?shot\b|\bunderbite\b"),
    "overshot": re.compile(r"\bover-?shot\b|\boverbite\b"),
}
# Jaws and lips are called level too, which says nothing of the teeth, and a scissor bite that is
# reversed is an undershot one.
_ELSE = re.compile(
    r"\b(?:lips?|jaws?)(?: are| is)? level\b|\blevel,? (?:\w+ )?(?:jaw|lip)s?\b"
    r"|\b(?:inver(?:se|ted)|reversed?) scissors?(?: bite)?\b"
)
_SHORT = re.compile(r"\b(over|under)-? (?=(?:or|and) (?:over|under)-?shot\b)")
_FILLERS = frozenset({
    "a", "an", "any", "the", "in", "to", "degree", "bite", "bites", "jaw", "jaws", "mouth",
    "teeth",
})  # fmt: skip
_OTHER = re.compile(r"\b(?:any|all) (?:other )?bites? (?:but|except|other than) (?P<right>[^;:.]+)")


def concerned(ask: Ask) -> bool:
    """Whether the ask is about the bite."""
    return ask.point == "bite"


def clash(one: Ask, other: Ask) -> str:
    """Return what is wrong between two asks of one body, "" if they may stand together."""
    if not same_variety(one, other):
        return ""
    if one.weight == other.weight == "required":
        first, second = bites(one.says), bites(other.says)
        if first.asked and second.asked and not first.good & second.good:
            return "two different bites are required"
        return ""
    if pair := right_and_wrong(one, other):
        right, wrong = pair
        both = bites(right.says).good & faulty(wrong.says)
        if both:
            return f"the same bite ({', '.join(sorted(both))}) is right and wrong"
    return ""


def bites(says: str) -> Said:
    """Return the bites that a line asks for, and with them those that it also puts up with."""
    return wanted(_ELSE.sub("", says.casefold()), _BITES)


def faulty(says: str) -> frozenset[str]:
    """Return the bites that a line of faults names with nothing to narrow it down."""
    line = _SHORT.sub(r"\1shot ", _ELSE.sub("", says.casefold()))
    other = _OTHER.search(line)
    if other:
        right = bites(other["right"]).good
        return frozenset(_BITES) - right if right else frozenset()
    return plainly_named(line, _BITES, _FILLERS)
