"""Which text a fact was read in, and how."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import ringside.domain.eligibility.words as words
from ringside.knowledge.regulation_schema import Edition, Fact, Regulation
from ringside.knowledge.schema import Read

_TRUST: Sequence[Read] = ("memory", "secondary", "copy")


def governs(regulation: Regulation) -> str:
    """Return the sentence that belongs under every verdict of this body."""
    return words.governs(_label(regulation.edition[0]))


def edition(regulation: Regulation, fact: Fact) -> str:
    """Return the edition a fact was read in, as "title, number (date)"."""
    texts = regulation.edition
    return _label(next((item for item in texts if item.id == fact.edition), texts[0]))


def _label(text: Edition) -> str:
    label = f"{text.title}, {text.number}" if text.number else text.title
    return f"{label} ({text.date})" if text.date and text.date not in label else label


def how_read(fact: Fact, *keys: str) -> Read:
    """Return how a fact was read, as far as it rests on these keys."""
    return fact.read if fact.memory == () or not set(keys) & set(fact.memory) else "memory"


def weakest(reads: Iterable[Read]) -> Read:
    """Return the way to read that is to be trusted least."""
    return min(reads, key=_TRUST.index)
