"""Which awards can count at all, and why others cannot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import ringside.domain.titles.words as words
from ringside.domain.days import DAY
from ringside.domain.dog import Award
from ringside.domain.titles.case import Case
from ringside.domain.titles.record import Screened


def screen(case: Case, order: Sequence[int]) -> Screened:
    """Sort the awards of `order`, which are oldest first, by whether they can count."""
    found = Screened()
    day, same_day = date.min, list[int]()
    awards, windows = case.awards, case.windows
    born = case.born or date.min
    for place in order:
        award = awards[place]
        window = windows.get(award.kind)
        reason = ""
        if award.day != day:
            day, same_day = award.day, []
        if window is None:
            kind = case.title.kinds.get(award.kind)
            reason = (kind and kind.unless) or words.OTHER_KIND
        elif award.day > case.today:
            reason = words.STILL_TO_COME
        elif award.day < born:
            reason = words.BEFORE_BIRTH
        elif same_day and any(_alike(award, awards[other]) for other in same_day):
            reason = words.TWICE
        elif award.day < window[0]:
            since = case.title.kinds[award.kind].since
            early = since is not None and award.day < since
            reason = words.too_early(since) if since and early else words.too_young(window[0])
        elif award.day >= window[1]:
            reason = _too_late(case, window[1])
        if reason:
            found.aside.setdefault(reason, []).append(place)
        else:
            same_day.append(place)
            found.pool.append(place)
    return found


def _alike(award: Award, other: Award) -> bool:
    """Tell whether two awards of one day are the same, entered twice."""
    return (
        award.kind == other.kind
        and award.judge == other.judge
        and award.show == other.show
        and replace(award, id="") == replace(other, id="")
    )


def _too_late(case: Case, end: date) -> str:
    last = case.title.title.valid_to
    if last and end == last + DAY:
        return words.after_the_end(last)
    return words.too_old(end)
