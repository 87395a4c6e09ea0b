"""What every phone is given for the day at the ring: paces, habits, steps before going in."""

from __future__ import annotations

from typing import Any

from ringside.domain.exam import source_of
from ringside.knowledge.loader import Knowledge


def ring_book(knowledge: Knowledge) -> dict[str, Any]:
    """Return {"pace", "habit", "step", "sources"}: ring.toml, without what is empty or false."""
    parts = {
        part: [{key: value for key, value in entry.items() if value} for entry in entries]
        for part, entries in knowledge.ring.model_dump().items()
    }
    used = {entry["source"] for entries in parts.values() for entry in entries}
    named = sorted(used & set(knowledge.sources))
    return {**parts, "sources": {key: source_of(knowledge.sources[key]) for key in named}}
