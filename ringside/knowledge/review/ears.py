"""Two asks about how the ears are carried of which a dog can fulfil one only."""

from __future__ import annotations

import re

from ringside.knowledge.review.clauses import (
    Words,
    plainly_named,
    right_and_wrong,
    same_variety,
    wanted,
)
from ringside.knowledge.schema import Ask

_CARRIED: Words = {
    "prick": re.compile(
        r"(?<!semi)(?<!semi[- ])(?<!half)(?<!half[- ])\b(?:prick(?:ed)?|erect|upright)\b"
    ),
    "half prick": re.compile(r"\b(?:semi|half)[- ]?(?:prick(?:ed)?|erect|drop)\b"),
    "drop": re.compile(r"\b(?:drop|hanging|pendants?|pendent|pendulous|drooping)\b"),
}
# What holds at a moment, at an age or on a part of the ear says nothing of how it is carried.
_ELSE = re.compile(
    r"\b(?:alert|attent\w*|excite\w*|rest|raised?|lift\w*|mov\w*|motion|work|pupp\w+|young|crop\w*"
    r"|natural\w*|base|tips?|half of|thirds?|part|when|if|fold\w*|rose|button|hair\w*|fring\w*"
    r"|either|sometimes)\b"
)
# The shape of tip and base is no way to carry an ear.
_SHAPE = re.compile(
    r"\btips? (?:\w+ )?(?:rounded|pointed)\b|\b(?:rounded|pointed|narrow|fine) tips?\b"
    r"|\b\w+-tipped\b|\b(?:broad|wide) (?:at (?:the )?)?base\b"
)
_NOT = re.compile(r"^(?:ears )?(?:that are )?not (?:carried )?(?P<right>[a-z]+)$")
_FILLERS = frozenset({
    "ear", "ears", "carried", "fully", "full", "the", "a", "that", "are",
})  # fmt: skip


def concerned(ask: Ask) -> bool:
    """Whether the ask is about the ears."""
    return ask.point == "ears"


def clash(one: Ask, other: Ask) -> str:
    """Return what is wrong between two asks of one body, "" if they may stand together."""
    if not same_variety(one, other):
        return ""
    if one.weight == other.weight == "required":
        first, second = carried(one.says), carried(other.says)
        if first and second and not first & second:
            return "ears are required to be carried in two ways"
        return ""
    if pair := right_and_wrong(one, other):
        right, wrong = pair
        both = carried(right.says) & faulty(wrong.says)
        if both:
            return f"the same ears ({', '.join(sorted(both))}) are right and wrong"
    return ""


def carried(says: str) -> frozenset[str]:
    """Return the ways to carry the ears that a line asks for or allows, as far as it is plain."""
    line = _SHAPE.sub("", says.casefold())
    return frozenset() if _ELSE.search(line) else wanted(line, _CARRIED).good


def faulty(says: str) -> frozenset[str]:
    """Return the ways to carry the ears that a line of faults names, with nothing to narrow it."""
    denied = _NOT.match(says.casefold().strip(" ."))
    if denied:
        right = carried(denied["right"])
        return frozenset(_CARRIED) - right if right else frozenset()
    return plainly_named(says, _CARRIED, _FILLERS)
