"""What every phone is given to measure photos by: views, marks, measures, words."""

from __future__ import annotations

from typing import Any

from ringside.domain.exam import source_of
from ringside.knowledge.loader import Knowledge

Data = dict[str, Any]
PARTS = ("view", "mark", "measure", "line")
LISTS = ("refused", "withheld")


def photo_book(knowledge: Knowledge) -> Data:
    """Return {"atlas", "views", "marks", "measures", "lines", "refused", "withheld", "sources"}:
    the folder photo/ by id, in its order, without what is empty, and where all comes from."""
    file = knowledge.photo
    told: Data = {
        f"{part}s": {
            one.id: {
                key: value
                for key, value in one.model_dump(by_alias=True, exclude_defaults=True).items()
                if key != "id"
            }
            for one in getattr(file, part)
        }
        for part in PARTS
    }
    lists = {part: [one.model_dump() for one in getattr(file, part)] for part in LISTS}
    entries = [one for part in told.values() for one in part.values()]
    entries += [one for rows in lists.values() for one in rows]
    named = {one["source"] for one in entries} & set(knowledge.sources)
    return {
        "atlas": file.atlas,
        **told,
        **lists,
        "sources": {key: source_of(knowledge.sources[key]) for key in sorted(named)},
    }
