"""Results: the words in which a judge's verdict is given, and when two names are one judge's.

The phone compares names by the same rule (static/js/core/results.js); tests/vectors/results.json
holds both to it.
"""

from __future__ import annotations

import re
from typing import Any

from ringside.domain.exam import source_of
from ringside.knowledge.loader import Knowledge
from ringside.knowledge.result_schema import ResultEntry

Data = dict[str, Any]

BETWEEN = re.compile("[. \u00a0\u2009\u202f]+")
TITLES = re.compile(r"^(?:(?:mrs|mr|ms|dr) )+")
LONGEST = 60  # characters, as a record takes


def judge_key(name: str) -> str:
    """Return a judge's name as it is compared, "" for none.

    Case, blanks, dots and a leading Mr, Mrs, Ms or Dr make no other judge. Nothing else is taken
    for the same: two judges under one name would be worse than one judge under two.
    """
    words = BETWEEN.sub(" ", name.lower()).strip(" ")
    return TITLES.sub("", words)[:LONGEST]


def results_book(knowledge: Knowledge) -> Data:
    """Return {"placings", "grades", "only", "lines", "sources"}: the entries of results.toml."""
    file = knowledge.results
    entries: list[ResultEntry] = [*file.placing, *file.grade, *file.only, *file.line]
    named = {entry.source for entry in entries} & set(knowledge.sources)
    return {
        "placings": [
            placing.model_dump(include={"id", "name", "bodies"}) for placing in file.placing
        ],
        "grades": [
            grade.model_dump(include={"id", "name", "body", "young"}) for grade in file.grade
        ],
        "only": [only.model_dump(exclude={"source"}) for only in file.only],
        "lines": [line.model_dump() for line in file.line],
        "sources": {key: source_of(knowledge.sources[key]) for key in sorted(named)},
    }
