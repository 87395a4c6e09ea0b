"""What bars any dog, whatever the class."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

import ringside.domain.eligibility.words as words
from ringside.domain.dog import Dog
from ringside.domain.eligibility.case import Answer, Case, Record, Track
from ringside.domain.eligibility.editions import how_read
from ringside.domain.eligibility.shapes import Data
from ringside.knowledge.regulation_schema import Bar, Kind, Outcome, Regulation, ShowClass


def bar_track(case: Case, klass: ShowClass, bar: Bar) -> Track:
    """Return what a bar that holds for the dog means in this class; an empty track for nothing."""
    stands = stands_for(bar, klass.id, case.kinds)
    if stands is None:
        return []
    state, says = stands
    start = max(case.born, bar.valid_from or case.born)
    if bar.question == "testes" and case.felt:
        found, on = case.felt
        start = max(start, on)
        state, says = "may if", words.if_both_down(one=found == "one", felt=on)
    answer = Answer(state, says, bar, f"bar/{bar.id}", how_read(bar, "effect"))
    return _from(case.born, start, answer)


def stands_for(bar: Bar, klass: str, kinds: frozenset[Kind] | None) -> tuple[Outcome, str] | None:
    """Return what a bar that holds for a dog means in a class at a show of these kinds.

    (verdict, what it says); of a "may if" what completes "only if". None: it does not bar there.
    """
    state, says = bar.verdict, bar.says.removesuffix(".")
    if bar.asks and bar.verdict == "may if":
        says = bar.asks
    if bar.kinds and kinds is not None and not set(bar.kinds) & kinds:
        return None
    if bar.kinds and kinds is None and bar.asks:
        state, says = "may if", bar.asks
    for exempt in bar.exempt:
        if klass in exempt.classes:
            if exempt.asks is None:
                return None
            state, says = "may if", exempt.asks
    return state, says


def _from(born: date, start: date, answer: Answer) -> Track:
    """Return a track on which an answer holds from `start` on and nothing before."""
    if start <= born:
        return [(born, answer)]
    return [(born, answer._replace(state="may", says="")), (start, answer)]


def bars(regulation: Regulation, dog: Dog) -> list[Data]:
    """Return all that bars any dog, as far as is known: {id, state, verdict, why, effect ...}.

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


def bars_for(
    table: Iterable[Data], dog: Dog, *, klass: str | None, kind: str | None, day: str | None
) -> list[Data]:
    """Return what the body asks of this dog in this class at this show, as far as it bars.

    `table` is that of the body (`pack_bars`), `kind` that of the show. Whether it is
    neutered is left out once somebody has said: the class then tells what follows. Gives
    [{"question", "verdict", "why", "asks", "source"}]. The phone does the same in core/rules.js.
    """
    asked = [
        bar
        for bar in table
        if not (bar.get("sex") and dog.sex and bar["sex"] != dog.sex)
        and not (bar["question"] == "neutered" and dog.neutered is not None)
        and not (day and bar.get("from", "") > day)
    ]
    stand = (_stands(bar, klass, kind) for bar in asked)
    return [bar for bar in stand if bar is not None]


def _stands(bar: Data, klass: str | None, kind: str | None) -> Data | None:
    verdict, asks = bar["verdict"], bar.get("asks")
    if bar.get("kinds") and kind and kind not in bar["kinds"]:
        return None
    if bar.get("kinds") and not kind:
        verdict = "may if"
    for exempt in bar.get("exempt", ()):
        if klass in exempt["classes"]:
            if "asks" not in exempt:
                return None
            verdict, asks = "may if", exempt["asks"]
    told = {key: bar[key] for key in ("question", "why", "source")}
    return {**told, "verdict": verdict, "asks": asks if verdict == "may if" else None}
