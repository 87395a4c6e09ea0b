"""The verdict on a title: which of its routes is best, and what it lacks in one sentence."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from ringside.domain.titles import words
from ringside.domain.titles.shapes import Verdict
from ringside.domain.titles.weighed import Lack, Weighed
from ringside.knowledge.title_schema import (
    AtLeast,
    Interval,
    Minimum,
    NeedsTest,
    NeedsTitle,
    Points,
    Rule,
    Slots,
    Wins,
)
from ringside.knowledge.titles import BodyTitle


def verdict_of(result: Weighed, equal: Sequence[Weighed], title: BodyTitle, today: date) -> Verdict:
    """Put into words what a route came to; `equal` are those that lack as few awards."""
    if not result.lacks:
        return Verdict(result.earned, "", None)
    ended = title.title.valid_to
    if ended and today > ended:
        return Verdict(None, words.ended(ended), None, closed=True)
    soonest = max(lack.first for lack in result.lacks)
    late = [lack.end for lack in result.lacks if max(lack.first, today) >= lack.end]
    if late:
        return Verdict(None, words.too_late(min(late)), None, closed=True)
    ways = [[lack.says for lack in way.lacks if _of_slots(lack)] for way in equal]
    alike = all(
        [lack.says for lack in way.lacks if not _of_slots(lack)]
        == [lack.says for lack in result.lacks if not _of_slots(lack)]
        for way in equal
    )
    says = _all_lacking(result.lacks, ways if alike else [])
    unknown = any(lack.unknown for lack in result.lacks)
    return Verdict(None, says, None if unknown else max(soonest, today))


def _all_lacking(lacks: Sequence[Lack], ways: Sequence[Sequence[str]]) -> str:
    """Say all that is lacking in one sentence: titles first, then awards, points and tests.

    `ways` are the awards lacking on each of several routes, one of which is enough.
    """
    before = [lack.says for lack in lacks if isinstance(lack.rule, NeedsTitle)]
    rest = [lack for lack in lacks if lack.says and not isinstance(lack.rule, NeedsTitle)]
    sums = [lack.says for lack in rest if isinstance(lack.rule, Points)]
    among = [lack.says for lack in rest if isinstance(lack.rule, AtLeast | Wins | Minimum)]
    if sums and sums[0].startswith("1 ") and len(among) == 1 and among[0].startswith("a point"):
        sums = [f"{sums[0]}, {among[0].removeprefix('a point ')}"]
    elif sums and among:
        sums = [f"{sums[0]}, among them {words.listed(among)}"]
    parts = [lack.says for lack in rest if _of_slots(lack)]
    if len(ways) > 1 and all(ways):
        parts = [" or ".join(dict.fromkeys("; ".join(way) for way in ways))]
    parts += sums or ([words.listed(among)] if among else [])
    parts += [lack.says for lack in rest if isinstance(lack.rule, NeedsTest)]
    text = "; ".join(parts)
    text = (
        f"{words.listed(before)}; then {text}" if before and text else text or words.listed(before)
    )
    return f"{text[:1].upper()}{text[1:]}."


def _of_slots(lack: Lack) -> bool:
    return bool(lack.says) and isinstance(lack.rule, Slots | Interval)


def rank(result: Weighed) -> tuple[int, date, int, date]:
    """Put the route first that is earned first, else the one that lacks least, then soonest."""
    earned = result.earned
    if not result.lacks:
        return 0, earned or date.min, 0, date.min
    closed = any(lack.first >= lack.end for lack in result.lacks)
    awards = max(lack.awards for lack in result.lacks)
    return 2 if closed else 1, date.min, awards, max(lack.first for lack in result.lacks)


def deciding(result: Weighed, today: date) -> tuple[Rule, ...]:
    """Return the rules that are lacking, or else those that were met last."""
    if result.lacks:
        return tuple(dict.fromkeys(lack.rule for lack in result.lacks))
    latest = max((day for _, day in result.met if day), default=today)
    last = [rule for rule, day in result.met if day == latest]
    return tuple(last or [rule for rule, _ in result.met])
