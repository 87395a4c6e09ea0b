"""Weigh a dog's awards for one title, or for several in turn.

A title is earned on the day when the last rule of one of its routes is met. Rules only ever ask
for more, so a further award never undoes what was reached. Of each route (a `case`) awards are
screened (`screening`), fill slots (`slots`, by `matching` or `choosing`) and add up to points
(`worth`, `points`), other titles are asked for (`needs`); `verdicts` picks the best route.

Where a text leaves something open (a birthday itself, a month without that day, a condition that
texts dispute) awards are weighed twice: against the dog, which is the verdict, and for it; where
the two differ, the other verdict is given too, with what is open.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

import ringside.domain.titles.words as words
from ringside.domain.dog import Dog
from ringside.domain.titles.case import Case
from ringside.domain.titles.needs import weigh_needs
from ringside.domain.titles.points import weigh_points
from ringside.domain.titles.record import Record
from ringside.domain.titles.screening import screen
from ringside.domain.titles.shapes import Tally, Verdict
from ringside.domain.titles.slots import weigh_slots
from ringside.domain.titles.unread import tally_unread
from ringside.domain.titles.verdicts import deciding, rank, verdict_of
from ringside.domain.titles.weighed import Weighed
from ringside.knowledge.titles import BodyTitle


def tally(title: BodyTitle, dog: Dog, today: date) -> Tally:
    """Weigh the dog's awards for `title`; those after `today` do not count yet."""
    return _tally(title, Record(dog, today))


def tally_all(titles: Iterable[BodyTitle], dog: Dog, today: date) -> list[Tally]:
    """Weigh the dog's awards for each title in turn; one found earned counts for the next."""
    return in_turn(titles, Record(dog, today), only=lambda title, record: True)


def in_turn(
    titles: Iterable[BodyTitle], record: Record, *, only: Callable[[BodyTitle, Record], bool]
) -> list[Tally]:
    """Weigh the awards of a record for those titles that `only` lets pass, in turn."""
    tallies = []
    for title in titles:
        if only(title, record):
            result = _tally(title, record)
            if result.earned:
                record.held.setdefault(title.id, result.earned)
            tallies.append(result)
    return tallies


def _tally(title: BodyTitle, record: Record) -> Tally:
    if title.title.unread:
        return tally_unread(title, title.title.unread, record)
    best, verdict = _best(title, record, strict=True)
    otherwise, remarks = None, best.case.remarks
    if best.open:
        other, second = _best(title, record, strict=False)
        if second != verdict:
            otherwise = second
            remarks = [*remarks, *dict.fromkeys([*best.open, *other.open])]
    foreign = record.foreign(title.body)
    others = {words.OTHER_BODY: foreign} if foreign else {}
    return Tally(
        title=title,
        route=best.case.route.name,
        verdict=verdict,
        otherwise=otherwise,
        open=tuple(remarks),
        have=tuple(best.have),
        counts=tuple(sorted(best.counts)),
        aside={reason: tuple(places) for reason, places in best.aside.items() if places} | others,
        rules=deciding(best, record.today),
    )


def _best(title: BodyTitle, record: Record, *, strict: bool) -> tuple[Weighed, Verdict]:
    """Weigh every route under one reading; return the best, and the verdict on all."""
    weighed = [
        _weigh(Case(title, route, record, strict=strict), record) for route in title.title.route
    ]
    best = min(weighed, key=rank)
    best.open = list(dict.fromkeys(note for result in weighed for note in result.case.open))
    equal = [result for result in weighed if rank(result)[:3] == rank(best)[:3]]
    return best, verdict_of(best, equal, title, record.today)


def _weigh(case: Case, record: Record) -> Weighed:
    result = Weighed(case)
    key = (case.title.body, tuple(case.windows.items()))
    found = record.screened.get(key)
    if found is None:
        order = record.order.get(case.title.body, ())
        found = record.screened[key] = screen(case, order)
    result.set_all_aside(found.aside)
    if case.route.awards:
        weigh_slots(case, found.pool, result)
    if case.route.points:
        weigh_points(case, found.pool, record, result)
    weigh_needs(case, result)
    told = set(result.counts)  # what counts in one way, or was told of, is not told of again
    for reason, places in result.aside.items():
        result.aside[reason] = [place for place in dict.fromkeys(places) if place not in told]
        told.update(places)
    return result
