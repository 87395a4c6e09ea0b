"""The windows of a life, class by class."""

from __future__ import annotations

from datetime import date

from ringside.domain.days import DAY
from ringside.domain.dog import Dog
from ringside.domain.eligibility.case import Case, Record, at
from ringside.domain.eligibility.classes import combine, tracks_of
from ringside.domain.eligibility.shapes import Ruling, Window
from ringside.knowledge.regulation_schema import Regulation, ShowClass


def windows(regulation: Regulation, dog: Dog) -> list[Window]:
    """Return for each class the windows of the dog's life, from birth on without a gap.

    They hold for lasting facts; lameness, season and the like belong to the day (`bars`). What
    a show alone would tell (its kind, its closing date) is part of the "may if". Raises
    ValueError where the day of whelping is not known.
    """
    case = Case(regulation, Record(dog))
    return [window for klass in regulation.classes for window in _class_windows(case, klass)]


def _class_windows(case: Case, klass: ShowClass) -> list[Window]:
    found = class_rulings(case, klass)
    ends = [start - DAY for start, _ in found[1:]]
    return [
        Window(start, end, ruling)
        for (start, ruling), end in zip(found, [*ends, None], strict=True)
    ]


def class_rulings(case: Case, klass: ShowClass) -> list[tuple[date, Ruling]]:
    """Return the rulings of a life, each with the day from which on it holds."""
    tracks = tracks_of(case, klass, lasting=True)
    found: list[tuple[date, Ruling]] = []
    if len(tracks) == 1:
        answers = [(start, [answer]) for start, answer in tracks[0]]
    else:
        starts = sorted({start for track in tracks for start, _ in track})
        answers = [(start, [at(track, start) for track in tracks]) for start in starts]
    for start, given in answers:
        ruling = combine(case, klass, given)
        if not found or found[-1][1] != ruling:
            found.append((start, ruling))
    return found
