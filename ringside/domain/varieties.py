"""What a dog of a breed may be chosen to be, and which of the breed's asks are then its own.

The handler chooses: a size, a coat, or one of each where a breed is told apart by both.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product

from ringside.knowledge.schema import Ask, Profile, Sex


def choices(breed: Profile) -> Mapping[str, frozenset[str]]:
    """Return {choice: the varieties an ask must not be of} in the order they are offered.

    A choice is a variety by its name, or one of each kind joined by a comma: "Miniature,
    Long-haired". Of two kinds the first may be chosen alone; then asks of the other all hold.
    """
    kinds: dict[str, list[str]] = {}
    for variety in breed.varieties:
        kinds.setdefault(variety.by, []).append(variety.name)
    groups = list(kinds.values())
    chosen = [*product(*groups[:1]), *(product(*groups) if len(groups) > 1 else ())]
    return {
        ", ".join(names): frozenset(
            other
            for name, group in zip(names, groups, strict=False)
            for other in group
            if other != name
        )
        for names in chosen
        if names
    }


def holds(ask: Ask, sex: Sex | None, others: frozenset[str]) -> bool:
    """Return whether an ask is one of a dog of this sex that is not of the varieties `others`."""
    return (ask.held_by is None or sex is None or ask.held_by == sex) and (
        ask.variety not in others
    )
