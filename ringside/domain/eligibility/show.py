"""Whether the dog may enter at a show, of one day or several.

The phone reads a show the same way from its windows: `rulingAt` in static/js/core/rules.js. The
cases in tests/vectors/rules/shows.json hold the two together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date

import ringside.domain.eligibility.words as words
from ringside.domain.days import DAY, end_of
from ringside.domain.dog import Dog
from ringside.domain.eligibility.case import Answer, Case, Record, at
from ringside.domain.eligibility.classes import combine, ruling_by, tracks_of
from ringside.domain.eligibility.editions import how_read, weakest
from ringside.domain.eligibility.shapes import Ruling, Show
from ringside.knowledge.regulation_schema import Regulation, ShowClass


def verdicts(regulation: Regulation, dog: Dog, show: Show) -> list[Ruling]:
    """Return for each class of the body whether the dog may enter it at this show, and why.

    Raises ValueError where the day of whelping is not known.
    """
    case = Case(regulation, Record(dog), show)
    return [_verdict(case, klass, show) for klass in regulation.classes]


def _verdict(case: Case, klass: ShowClass, show: Show) -> Ruling:
    tracks = tracks_of(case, klass, lasting=False)

    def on(day: date) -> Ruling:
        if day < case.born:
            unborn = Answer("may not", words.unborn(), klass, "", klass.read)
            return ruling_by(case, klass, unborn, [unborn])
        return combine(case, klass, [at(track, day) for track in tracks])

    ages = case.regulation.ages
    decides = klass.decides or ages.decides
    days = _days(show)
    if decides == "closing date":
        return _on_closing(on, show)
    if decides == "first day" or len(days) == 1:
        ruling = on(days[0])
        if any(on(day).verdict != ruling.verdict for day in days[1:]):
            by_day = how_read(klass, "decides") if klass.decides else ages.read
            return ruling._replace(read=weakest((ruling.read, by_day)))
        return ruling
    own = [show.shown] if show.shown else days
    return _several(case, on, own, None if decides == "day shown" else days[0])


def _on_closing(on: Callable[[date], Ruling], show: Show) -> Ruling:
    if show.closing:
        return on(show.closing)
    why = words.closing_day_unknown()
    return on(show.first)._replace(verdict="may if", parts=(why,), readings=(), age="")


def _days(show: Show) -> list[date]:
    more = (end_of(show.first, show.last) - show.first).days
    return [show.first + DAY * step for step in range(more + 1)]


def _several(
    case: Case, on: Callable[[date], Ruling], own: Sequence[date], first: date | None
) -> Ruling:
    """Return the ruling on which all days agree, else "may if" with what each of them gives.

    `first` is the first day of the show where the text leaves open whether that one decides.
    """
    rulings = {day: on(day) for day in ([first] if first else []) + list(own)}
    one = next(iter(rulings.values()))
    if len({(ruling.verdict, ruling.readings) for ruling in rulings.values()}) == 1:
        return one
    readings = [words.if_first_day(rulings[first])] if first else []
    for span, ruling in _spans(rulings, own):
        readings.append(words.if_shown(span, ruling, or_first=bool(first)))
    ages = case.regulation.ages
    return Ruling(
        one.klass,
        "may if",
        (words.depends_on_day(or_first=bool(first)),),
        ages.clause,
        case.label(ages),
        weakest((ages.read, *(ruling.read for ruling in rulings.values()))),
        "ages",
        tuple(readings),
    )


def _spans(
    rulings: Mapping[date, Ruling], days: Sequence[date]
) -> Iterator[tuple[list[date], Ruling]]:
    """Yield days in a row on which the same holds."""
    span: list[date] = []
    for day in days:
        if span and rulings[span[-1]] != rulings[day]:
            yield span, rulings[span[-1]]
            span = []
        span.append(day)
    yield span, rulings[span[-1]]
