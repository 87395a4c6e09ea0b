"""What a dog of a breed may be chosen to be, and which of the breed's asks are then its own.

The handler chooses: a size, a coat, or one of each where a breed is told apart by both.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from itertools import product
from typing import Any

from ringside.knowledge.schema import Profile, Sex


def choices(breed: Profile) -> Mapping[str, tuple[str, ...]]:
    """Return {choice: the varieties it is} in the order they are offered.

    A choice is a variety by its name, or one of each kind joined by a comma: "Miniature,
    Long-haired". Of two kinds the first may be chosen alone.
    """
    kinds = list(_kinds(breed).values())
    chosen = [*product(*kinds[:1]), *(product(*kinds) if len(kinds) > 1 else ())]
    return {", ".join(names): names for names in chosen if names}


def others_than(breed: Profile, choice: str) -> frozenset[str]:
    """Return the varieties that a dog is not which was chosen to be so; none for no choice."""
    names = choices(breed).get(choice, ())
    of_its_kind = (kind for kind in _kinds(breed).values() if not set(kind).isdisjoint(names))
    return frozenset(other for kind in of_its_kind for other in kind if other not in names)


def pack_choices(breed: Profile) -> dict[str, dict[str, list[str]]]:
    """Return {choice: {"is": its varieties, "not": those it is not}}, as static/js/core/asks.js
    looks them up."""
    return {
        choice: {"is": list(names), "not": sorted(others_than(breed, choice))}
        for choice, names in choices(breed).items()
    }


def holds(line: Mapping[str, Any], sex: Sex | None, others: Collection[str] = ()) -> bool:
    """Return whether an ask or a limit of a breed, as packs hold it, is one of a dog of this sex
    that is not of the varieties `others`."""
    return (sex is None or line.get("sex", sex) == sex) and line.get("variety") not in others


def _kinds(breed: Profile) -> Mapping[str, list[str]]:
    kinds: dict[str, list[str]] = {}
    for variety in breed.varieties:
        kinds.setdefault(variety.by, []).append(variety.name)
    return kinds
