"""A breed held to the text of a standard, for whoever writes its file and has the text at hand.

Three questions that need no judgement: does every figure of an ask stand in the text or follow from
it, are any words the text's own, and are there as many disqualifications as the text lists. What
is found is a place to look at, not a verdict. The text itself is only read and never kept.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from ringside.knowledge.review.figures import figures, figures_of
from ringside.knowledge.schema import Ask, Breed

RUN = 6  # so many words in a row are no longer ours
_WORD = re.compile(r"[^\W_]+")
_OUT = re.compile(r"\b(?:eliminat(?:ing|ory)|disqualif(?:ying|ications?))\b[^\n]*", re.IGNORECASE)
# Such a list ends at the next heading, or at the note that all standards end in.
_END = re.compile(r"^\s*#|^\s*N\.? ?B\b|^\s*The latest amendments", re.IGNORECASE | re.MULTILINE)
_BULLET = re.compile(r"^\s*[•·▪◦‣●*–—-](?!\S*\d)\s*", re.MULTILINE)


def against_text(breed: Breed, standard: str, text: str) -> Iterator[str]:
    """Yield what to look at in the asks of `breed` under `standard`, whose text is `text`.

    Raises ValueError if the file has no such standard.
    """
    if standard not in {known.id for known in breed.standard}:
        raise ValueError(f"there is no standard {standard!r} in this file")
    asks = [ask for ask in breed.ask if ask.standard == standard]
    yield from _figures(asks, text)
    yield from _runs(asks, text)
    barring, listed = sum(ask.weight == "disqualifying" for ask in asks), bullets(text)
    if barring < listed:
        yield (
            f"disqualifying: {barring} asks, but the text lists {listed} faults as eliminating; "
            "two of its lines may be one ask, none may be left out"
        )


def bullets(text: str) -> int:
    """Return how many points the text lists under its eliminating or disqualifying faults."""
    counts = [0]
    for heading in _OUT.finditer(text):
        rest = text[heading.end() :]
        end = _END.search(rest)
        counts.append(len(_BULLET.findall(rest[: end.start()] if end else rest)))
    return max(counts)


def _figures(asks: Iterable[Ask], text: str) -> Iterator[str]:
    known = figures_of(text)
    for ask in asks:
        unit = ask.number.unit if ask.number else ""
        bounds = (ask.number.low, ask.number.high) if ask.number else ()
        missing = [value for value in bounds if value is not None and not known.have(value, unit)]
        missing += [value for value in figures(ask.says) if not known.have(value)]
        for value in dict.fromkeys(missing):
            yield f"{_place(ask)}: {value:g} neither stands in the text nor follows from it"


def _runs(asks: Iterable[Ask], text: str) -> Iterator[str]:
    theirs = _words(text)
    known = {tuple(theirs[at : at + RUN]) for at in range(len(theirs) - RUN + 1)}
    for ask in asks:
        ours = _words(ask.says)
        runs = (ours[at : at + RUN] for at in range(len(ours) - RUN + 1))
        copied = next((run for run in runs if tuple(run) in known), None)
        if copied:
            yield f"{_place(ask)}: {RUN} words in a row are the text's: “{' '.join(copied)}”"


def _words(text: str) -> list[str]:
    return _WORD.findall(text.casefold())


def _place(ask: Ask) -> str:
    return f"ask ({ask.says[:60]})"
