"""Since when titles are held, and since when wins add up to a tally that bars."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple, get_args

from ringside.domain.dog import Award, Dog
from ringside.knowledge.regulation_schema import Tally, Win
from ringside.knowledge.schema import Body

# Holding a higher title means holding that of champion too.
_HIGHER = {"gch", "gchb", "gchs", "gchg", "gchp", "gchex", "grch", "supreme"}
_CHAMPION = _HIGHER | {
    "ch", "sh-ch", "national-ch", "cib", "cib-working", "cib-asia-pacific", "cie",
}  # fmt: skip
_BARRING = frozenset(get_args(Win))
# What the points of an award are called where a body bars by their sum.
_POINTS: Mapping[Body, Win] = {"AKC": "championship-points", "DA": "challenge-points"}


class Since(NamedTuple):
    """Since when something holds: a day, all along (date.min), never, or nobody has said."""

    day: date | None = None
    known: bool = True


NEVER = Since()
UNKNOWN = Since(known=False)
ALWAYS = Since(date.min)


def held(titles: Collection[str], dog: Dog) -> Since:
    """Return since when the dog holds any of these titles."""
    if dog.titles is None:
        return UNKNOWN
    days = [on or date.min for name, on in dog.titles.items() if _is_any(name, titles)]
    return Since(min(days)) if days else NEVER


def _is_any(held: str, titles: Collection[str]) -> bool:
    if held in titles:
        return True
    body, _, name = held.partition("-")
    if "any-ch" in titles and name in _CHAMPION:
        return True
    return name in _HIGHER and f"{body}-ch" in titles


class Won(NamedTuple):
    """Wins that count alike: as what, one of them, and of each the day and how much it is."""

    win: str
    award: Award
    days: list[tuple[date, int]]


def wins_of(awards: Iterable[Award]) -> list[Won]:
    """Return what bars among the awards, those that count alike together."""
    alike: dict[Any, Won] = {}
    for award in awards:
        for win in _counts_as(award):
            key = (
                win, award.body, award.klass, award.show_kind, award.ccs, award.breed_only,
            )  # fmt: skip
            weight = (award.points or 1) if win.endswith("-points") else 1
            alike.setdefault(key, Won(win, award, [])).days.append((award.day, weight))
    return list(alike.values())


def _counts_as(award: Award) -> Iterator[str]:
    """Yield what an award counts as. A first prize is one, whatever points it brought."""
    points = _POINTS.get(award.body, "") if award.points else ""
    yield from (win for win in dict.fromkeys((award.kind, points)) if win in _BARRING)


def won(tally: Tally, body: Body, wins: Sequence[Won] | None) -> Since:
    """Return since when the wins reach the tally; open where the record says too little."""
    if wins is None:
        return UNKNOWN
    possible = 0
    sure: list[tuple[date, int]] = []
    for alike in wins:
        counts = _counts(tally, body, alike)
        if counts is not False:
            possible += sum(points for _, points in alike.days)
        if counts:
            sure += alike.days
    if possible < tally.count:
        return NEVER
    total = 0
    for day, points in sorted(sure):
        total += points
        if total >= tally.count:
            return Since(day)
    return UNKNOWN


def _counts(tally: Tally, body: Body, alike: Won) -> bool | None:
    """Return whether a win counts, or None where the record does not say enough."""
    award = alike.award
    if alike.win not in tally.awards or not (tally.everywhere or award.body == body):
        return False
    # A class of another body has a name of its own, which this body's lists do not mean.
    klass = (award.klass or None) if award.body == body else None
    kind = award.show_kind or None
    known = True
    for asked, given in (
        (tally.classes, klass and klass in tally.classes),
        (tally.not_classes, klass and klass not in tally.not_classes),
        (tally.kinds, kind and kind in tally.kinds),
        (tally.ccs, award.ccs),
        (tally.breed_only, award.breed_only),
    ):
        if asked and given is False:
            return False
        known = known and not (asked and given is None)
    return True if known else None
