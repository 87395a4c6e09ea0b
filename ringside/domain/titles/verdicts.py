"""The verdict on a title: which of its routes is best, and what that one comes to."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import ringside.domain.titles.words as words
from ringside.domain.titles.lacking import all_lacking, of_slots
from ringside.domain.titles.shapes import Verdict
from ringside.domain.titles.weighed import Weighed
from ringside.knowledge.title_schema import Rule
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
    ways = [[lack.says for lack in way.lacks if of_slots(lack)] for way in equal]
    alike = all(
        [lack.says for lack in way.lacks if not of_slots(lack)]
        == [lack.says for lack in result.lacks if not of_slots(lack)]
        for way in equal
    )
    says = all_lacking(result.lacks, ways if alike else [])
    unknown = any(lack.unknown for lack in result.lacks)
    return Verdict(None, says, None if unknown else max(soonest, today))


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
