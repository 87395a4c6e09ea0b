"""Asks of one body that contradict each other: sizes, bites, ears and colours.

Each of the four says which asks it is about and what is wrong between two of them; all of them let
be what is not plain.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations

from ringside.knowledge.review import bites, colours, ears, sizes
from ringside.knowledge.schema import Ask, Breed

_CHECKS: tuple[tuple[Callable[[Ask], bool], Callable[[Ask, Ask], str]], ...] = (
    (sizes.concerned, sizes.clash),
    (bites.concerned, bites.clash),
    (ears.concerned, ears.clash),
    (colours.concerned, colours.clash),
)


def contradictions(breed: Breed) -> Iterator[str]:
    """Yield a sentence for each pair of asks that cannot both be meant."""
    of = {standard.id: standard.of for standard in breed.standard}
    for concerned, clash in _CHECKS:
        for one, other in combinations(filter(concerned, breed.ask), 2):
            wrong = clash(one, other) if of[one.standard] == of[other.standard] else ""
            if wrong:
                yield f"{_standards(one, other)}: {wrong}: “{one.says}” and “{other.says}”"


def _standards(one: Ask, other: Ask) -> str:
    if one.standard == other.standard:
        return f"standard {one.standard}"
    return f"standards {one.standard} and {other.standard}"
