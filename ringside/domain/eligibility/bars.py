"""What bars any dog, whatever the class."""

from __future__ import annotations

from datetime import date

import ringside.domain.eligibility.words as words
from ringside.domain.dog import Dog
from ringside.domain.eligibility.case import Answer, Case, Record, Track
from ringside.domain.eligibility.editions import how_read
from ringside.domain.eligibility.shapes import Data
from ringside.knowledge.regulation_schema import Bar, Regulation, ShowClass


def bar_track(case: Case, klass: ShowClass, bar: Bar) -> Track:
    """Return what a bar that holds for the dog means in this class; an empty track for nothing."""
    state, says = bar.verdict, bar.says.removesuffix(".")
    if bar.asks and bar.verdict == "may if":
        says = bar.asks
    if bar.kinds and case.kinds is not None and not set(bar.kinds) & case.kinds:
        return []
    if bar.kinds and case.kinds is None and bar.asks:
        state, says = "may if", bar.asks
    for exempt in bar.exempt:
        if klass.id in exempt.classes:
            if exempt.asks is None:
                return []
            state, says = "may if", exempt.asks
    start = max(case.born, bar.valid_from or case.born)
    if bar.question == "testes" and case.felt:
        found, on = case.felt
        start = max(start, on)
        state, says = "may if", words.if_both_down(one=found == "one", felt=on)
    answer = Answer(state, says, bar, f"bar/{bar.id}", how_read(bar, "effect"))
    return _from(case.born, start, answer)


def _from(born: date, start: date, answer: Answer) -> Track:
    """Return a track on which an answer holds from `start` on and nothing before."""
    if start <= born:
        return [(born, answer)]
    return [(born, answer._replace(state="may", says="")), (start, answer)]


def bars(regulation: Regulation, dog: Dog) -> list[Data]:
    """Return all that bars any dog, for the gate: {id, state, verdict, why, effect, clause ...}.

    `state` is "hit" where it holds for this dog, "clear" where it does not, "ask" where nobody
    has said. Ages are left to the classes.
    """
    case = Case(regulation, Record(dog))
    found: list[Data] = []
    for bar in regulation.bar:
        if bar.question is None or (bar.sex and dog.sex and bar.sex != dog.sex):
            continue
        if bar.question == "testes" and dog.neutered:
            continue
        reply = case.felt if bar.question == "testes" else case.reply(bar.question)
        found.append(
            {
                "id": bar.id,
                "state": "ask" if reply is None else "hit" if case.is_hit(bar) else "clear",
                "verdict": bar.verdict,
                "why": bar.says,
                "effect": bar.effect,
                "lasting": bar.lasting,
                "clause": bar.clause,
                "edition": case.label(bar),
                "read": how_read(bar, "effect"),
            }
        )
    return found
