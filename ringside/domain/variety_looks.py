"""How the drawing of a breed differs by variety: its coat, and how large it is beside others."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from ringside.domain.limits import all_limits
from ringside.domain.varieties import choices
from ringside.knowledge.schema import Breed

# Smaller than this a drawing cannot be read; nearer to the largest than this nobody sees it.
_LEAST, _MOST = 0.6, 0.95


def variety_looks(breed: Breed) -> dict[str, dict[str, Any]]:
    """Return {choice: {"coat", "size"}} where they differ from the breed's drawing.

    A choice is one of `varieties.choices`; "size" is the share of the largest variety's height.
    """
    coats = {variety.name: variety.coat for variety in breed.varieties if variety.coat}
    sizes = _sizes(breed)
    found: dict[str, dict[str, Any]] = {}
    for choice, names in choices(breed).items():
        looks: dict[str, Any] = {}
        for name in names:
            looks |= {"coat": coats[name]} if name in coats else {}
            looks |= {"size": sizes[name]} if name in sizes else {}
        if looks:
            found[choice] = looks
    return found


def _sizes(breed: Breed) -> Mapping[str, float]:
    """Return {variety: share} by the heights, or else the weights, that one body asks of each."""
    bounds: dict[tuple[str, str], dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    for limit in all_limits(breed):
        if name := limit.get("variety"):
            given = [limit[bound] for bound in ("low", "high") if bound in limit]
            bounds[limit["what"], limit["of"]][name] += given
    # Heights first: a weight tells a height by its cube root, roughly.
    for (what, _), told in sorted(bounds.items(), key=lambda item: item[0][0]):
        if len(told) < 2:
            continue
        middles = {name: sum(given) / len(given) for name, given in told.items()}
        power = 1 if what == "height" else 1 / 3
        shares = {name: (value / max(middles.values())) ** power for name, value in middles.items()}
        return {
            name: round(max(share, _LEAST), 2) for name, share in shares.items() if share < _MOST
        }
    return {}
