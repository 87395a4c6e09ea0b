"""What every phone is given to look after a dog between shows: the scale, the checks, the words."""

from __future__ import annotations

from typing import Any

from ringside.domain.condition_words import CONDITION
from ringside.domain.exam import source_of
from ringside.knowledge.care_schema import CareEntry
from ringside.knowledge.loader import Knowledge

Data = dict[str, Any]


def care_book(knowledge: Knowledge) -> Data:
    """Return {"says", "scores", "checks", "looks", "lines", "sources"}.

    "says" are the sentences of condition_words.py, "lines" those of both files, the rest as in
    condition.toml and puppies.toml; what is empty is left out.
    """
    condition, puppies = knowledge.condition, knowledge.puppies
    lines = [*condition.line, *puppies.line]
    entries: list[CareEntry] = [*condition.score, *puppies.check, *puppies.look, *lines]
    named = {entry.source for entry in entries} & set(knowledge.sources)
    return {
        "says": dict(CONDITION),
        "scores": [score.model_dump() for score in condition.score],
        "checks": [check.model_dump(exclude_none=True) for check in puppies.check],
        "looks": [look.model_dump() for look in puppies.look],
        "lines": [line.model_dump() for line in lines],
        "sources": {key: source_of(knowledge.sources[key]) for key in sorted(named)},
    }
