"""The one line a card has room for: what is asked of the breed at a station."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import cast, get_args

from ringside.knowledge.schema import (
    GLANCE,
    Ask,
    Body,
    Breed,
    GlanceBody,
    GlanceStation,
    Sex,
    Station,
)

# Where the chosen body has no text on a point, the next body's text is shown under its own name.
FALLBACK: Sequence[Body] = ("FCI", "KC", "AKC")

_STATIONS = frozenset(get_args(GlanceStation))

# What is faulted is not what is asked: "Asked: undershot" would say the opposite.
_ASKED = ("required", "preferred")
# First words that keep their capital within a sentence.
_NAMES = frozenset({"Basset", "Hackney-like", "Roman", "Swiss"})


Line = tuple[str, Body | None]
"""What is asked in one line, and the body that asks it; ("", None) for nothing."""

NO_LINE: Line = ("", None)


def glance_line(breed: Breed, station: Station, body: Body) -> Line:
    """Return what the breed file says in one line for this station.

    The line of the chosen body counts, then that of another; 30 characters at most.
    """
    here = station.glance or station.id
    if here not in _STATIONS:
        return NO_LINE
    for known in (body, *FALLBACK):
        lines = breed.glance.get(cast(GlanceBody, known.lower()), {})
        if line := lines.get(cast(GlanceStation, here)):
            return _within_a_sentence(line), known
    return NO_LINE


def short_ask(asks: Iterable[tuple[Ask, Body]], sex: Sex | None) -> Line:
    """Return the first of `asks`, most weighty first, that has room in one line and holds for the
    whole breed and this sex."""
    for ask, of in asks:
        line = ask.says.removesuffix(".")
        holds = ask.weight in _ASKED and not ask.variety and ask.held_by in (None, sex)
        if holds and len(line) <= GLANCE:
            return _within_a_sentence(line), of
    return NO_LINE


def _within_a_sentence(line: str) -> str:
    first = line.split(maxsplit=1)[0].rstrip(",;:")
    is_word = first == "A" or first[1:2].islower()
    return line[:1].lower() + line[1:] if is_word and first not in _NAMES else line
