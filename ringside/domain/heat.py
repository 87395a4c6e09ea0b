"""What every phone is given about heat: first aid, limits, risk as sentences, the parked car."""

from __future__ import annotations

from typing import Any

from ringside.domain.exam import source_of
from ringside.knowledge.loader import Knowledge

Data = dict[str, Any]
PARTS = ("aid", "sign", "limit", "risk", "breed", "car", "line")


def heat_book(knowledge: Knowledge) -> Data:
    """Return {"aid", "sign", "limit", "risk", "breed", "car", "line", "sources"}: heat.toml as it
    is, with the breeds' odds by breed, and where all comes from."""
    file = knowledge.heat
    told = {
        part: [one.model_dump(exclude_none=True) for one in getattr(file, part)] for part in PARTS
    }
    named = {one["source"] for part in told.values() for one in part} & set(knowledge.sources)
    return {
        **told,
        "breed": {one["id"]: one for one in told["breed"]},
        "sources": {key: source_of(knowledge.sources[key]) for key in sorted(named)},
    }
