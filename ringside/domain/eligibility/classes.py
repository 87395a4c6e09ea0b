"""All that a class asks, laid over one another: the first no decides, else every "if" is named.

A ruling is made in three steps: every question about a class becomes a *track*, a list of days
from which on an answer holds (`ages`, `conditions` and `wins`, `bars`); the tracks of a class are
laid over one another here; the result is read off for one show (`show`) or run through from birth
(`life`, and `pack` for the phone).

Ages are counted in calendar months. Where a body's text leaves something open (a month without
the day of birth, 29 February, whether the day itself counts, which day of a show of several days
decides) and it matters, the verdict is "may if" and carries the readings in words. A ruling speaks
for the dog as its record stands. The show's own schedule always governs: see `editions.governs`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import ringside.domain.eligibility.words as words
from ringside.domain.eligibility.ages import Stage, stages
from ringside.domain.eligibility.bars import bar_track
from ringside.domain.eligibility.case import Answer, Case, Track
from ringside.domain.eligibility.conditions import condition_track
from ringside.domain.eligibility.editions import how_read, weakest
from ringside.domain.eligibility.shapes import Misfit, Ruling
from ringside.knowledge.regulation_schema import Bound, Fact, Outcome, Regulation, ShowClass

_MISFITS: Mapping[str, Misfit] = {"low": "young", "high": "old"}


def tracks_of(case: Case, klass: ShowClass, *, lasting: bool) -> list[Track]:
    """Return all that a class asks of the dog, the age first."""
    tracks = [_age_track(case, klass), *_own_tracks(case, klass)]
    tracks += [condition_track(case, klass, condition) for condition in klass.condition]
    tracks += [bar_track(case, klass, bar) for bar in case.hits if bar.lasting >= lasting]
    return [track for track in tracks if track]


def _age_track(case: Case, klass: ShowClass) -> Track:
    by_low, name, low = _lowest_age(case.regulation, klass)
    track: Track = []
    for stage in _stages(case, low, klass.high):
        if stage.by == "low":
            fact, of, read = by_low, name, how_read(by_low, "low", "under")
        else:
            keys = ("high",) if stage.by == "high" else ("low", "high")
            fact, of, read = klass, "", how_read(klass, *keys)
        age = _MISFITS.get(stage.by, "") if stage.state == "may not" else ""
        answer = Answer(stage.state, stage.says, fact, of, read, stage.readings, age=age)
        track.append((stage.start, answer))
    return track


def _lowest_age(regulation: Regulation, klass: ShowClass) -> tuple[Fact, str, Bound | None]:
    """Return the class's own least age, or that for any dog where it names none."""
    if klass.low:
        return klass, "", klass.low
    for bar in regulation.bar:
        if bar.under and not any(klass.id in exempt.classes for exempt in bar.exempt):
            return bar, f"bar/{bar.id}", bar.under
    return klass, "", None


def _stages(case: Case, low: Bound | None, high: Bound | None) -> list[Stage]:
    """Return the life of the dog as these bounds see it. Many classes share theirs."""
    rules = (case.regulation.month_end.reading, case.regulation.leap_day.reading)
    key = (rules, *((it.age, it.unit, it.inclusive) if it else None for it in (low, high)))
    ages = case.record.ages
    if key not in ages:
        ages[key] = list(stages(case.regulation, case.born, low, high))
    return ages[key]


def _own_tracks(case: Case, klass: ShowClass) -> Iterator[Track]:
    """Yield what a class asks besides age and conditions: sex, kind of show, since when."""
    born, sex = case.born, case.dog.sex

    def answer(state: Outcome, says: str) -> Answer:
        return Answer(state, says, klass, "", klass.read)

    if klass.sex and sex is None:
        yield [(born, answer("may if", words.if_of_sex(klass)))]
    elif klass.sex and klass.sex != sex:
        yield [(born, answer("may not", words.of_other_sex(klass)))]
    if klass.kinds and case.kinds is None:
        yield [(born, answer("may if", words.if_at_kind(klass)))]
    elif klass.kinds and not set(klass.kinds) & (case.kinds or frozenset()):
        yield [(born, answer("may not", words.at_other_kind(klass)))]
    if klass.valid_from and klass.valid_from > born:
        says = words.not_yet_begun(klass.valid_from)
        yield [(born, answer("may not", says)), (klass.valid_from, answer("may", ""))]


def combine(case: Case, klass: ShowClass, answers: Sequence[Answer]) -> Ruling:
    """Lay the answers over one another: the first no decides, else every "if" is named."""
    for answer in answers:
        if answer.state == "may not":
            return ruling_by(case, klass, answer, [answer])
    age, *others = answers
    involved = [age, *(answer for answer in others if answer.state == "may if")]
    deciding = next((answer for answer in involved if answer.state == "may if"), age)
    return ruling_by(case, klass, deciding, involved)


def ruling_by(case: Case, klass: ShowClass, by: Answer, involved: Sequence[Answer]) -> Ruling:
    """Return the ruling that one answer decides, with all that has a say in it."""
    clause, label, name = by.fact.clause, case.label(by.fact), by.name or klass.id
    if len(involved) == 1:
        parts = (by.says,)
        return Ruling(
            klass.id, by.state, parts, clause, label, by.read, name, by.readings, by.instead, by.age
        )
    return Ruling(
        klass.id,
        by.state,
        tuple(dict.fromkeys(answer.says for answer in involved)),
        clause,
        label,
        weakest(answer.read for answer in involved),
        name,
        tuple(reading for item in involved for reading in item.readings),
        next((answer.instead for answer in involved if answer.instead), None),
    )
