"""The same for the phone: small, to be looked up by date."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

import ringside.domain.eligibility.words as words
from ringside.domain.dog import Dog
from ringside.domain.eligibility.case import Case, Record
from ringside.domain.eligibility.editions import edition, governs, how_read
from ringside.domain.eligibility.life import class_rulings
from ringside.domain.eligibility.members import members
from ringside.domain.eligibility.shapes import Data, Ruling
from ringside.domain.says import sentence
from ringside.knowledge.regulation_schema import (
    Award,
    Bar,
    Fact,
    Habit,
    Regulation,
    Rule,
    ShowClass,
)

# One letter each, to keep a pack small: "ns" is may not, by a secondary reading.
_LETTERS: Mapping[str, str] = {"may": "y", "may not": "n", "may if": "i"}


def pack_windows(regulations: Mapping[str, Regulation], dog: Dog) -> Data:
    """Return the windows of all bodies as the phone keeps them: small, to be looked up by date.

    {"v": 1, "born": day, "s": [words, ...], "w": {body: {class: [row, ...]}}}. A row is
    [from, code, words, fact, readings]; it holds until the next row of its class begins, the last
    for good. `code` is y (may), n (may not) or i (may if), then c, s or m for copy, secondary,
    memory, then y or o where the dog is too young or too old. `words` is one place in "s", or a
    list of places [a, b, c ...] that reads "a; only if b, and c"; a full stop ends either.
    `readings` are places of whole sentences. A member body, as "fci-se", has the classes that it
    words itself. `fact` is a key of `pack_rules`, "" for the class
    itself. What is empty at the end of a row is left out.
    """
    places: dict[str, int] = {}

    def place(sentence: str) -> int:
        return places.setdefault(sentence, len(places))

    def row(start: date, ruling: Ruling) -> list[Any]:
        parts = ruling.parts
        cells: list[Any] = [
            start.isoformat(),
            _LETTERS[ruling.verdict] + ruling.read[0] + ruling.age[:1],
            place(parts[0]) if len(parts) == 1 else [place(part) for part in parts],
        ]
        fact = "" if ruling.fact == ruling.klass else ruling.fact.removeprefix(f"{ruling.klass}/")
        if ruling.readings:
            cells += [fact, [place(reading) for reading in ruling.readings]]
        elif fact:
            cells.append(fact)
        return cells

    record = Record(dog)
    bodies: Data = {}
    for body, regulation in regulations.items():
        case = Case(regulation, record)
        bodies[body] = {
            klass.id: [row(start, ruling) for start, ruling in class_rulings(case, klass)]
            for klass in regulation.classes
        }
    for key, body, regulation in members(regulations):
        case = Case(regulation, record)
        bodies[key] = {
            klass.id: [row(start, ruling) for start, ruling in class_rulings(case, klass)]
            for klass, usual in zip(regulation.classes, regulations[body].classes, strict=True)
            if klass != usual
        }
    return {"v": 1, "born": record.born.isoformat(), "s": list(places), "w": bodies}


def pack_rules(regulations: Mapping[str, Regulation]) -> Data:
    """Return what is the same for every dog, once for the phone: names, clauses, editions.

    {"v": 1, "s": {name: sentence}, "b": {body: {...}}}: "s" is what the phone itself says of a day
    or a show. A body has "n" (name), "g" (the sentence under every verdict),
    "d" (which day decides), "e" ([edition, ...]), "c" ({class: {...}}) and "f" ({fact:
    [clause, place of the edition, read]}). A class has "n" (name), "f" (its own fact) and, where
    there is any, "d", "w" (can win), "x" (cannot), "o" (optional), "k" (kinds of show), "s" (sex),
    "h" (who handles), "v" (what becomes of a dog over age), "u" (note), "r" (how "d" was read) and
    "q" ({condition: {"f", "i": the class instead}}). Facts of no class: "ages", "month_end",
    "leap_day", "bar/...". A member body has "n", "at" (its country), "of" (the body
    it is a member of), and those classes that it words itself; all else is as there.
    """
    editions = {
        body: list(dict.fromkeys(_labels(regulation))) for body, regulation in regulations.items()
    }
    bodies = {body: _rules(item, editions[body]) for body, item in regulations.items()}
    for key, body, item in members(regulations):
        usual, own = bodies[body]["c"], _rules(item, editions[body])
        differs = {klass: told for klass, told in own["c"].items() if told != usual[klass]}
        where = own["n"].removeprefix(f"{item.body}, in ")
        bodies[key] = {"n": own["n"], "of": body, "at": where, "c": differs}
    return {"v": 1, "s": dict(words.SHARED), "b": bodies}


def pack_habits(regulations: Mapping[str, Regulation]) -> Data:
    """Return who decides at the shows of each body, how they are run and what is won there, once
    for the phone.

    {body: {"e": [edition, ...], "y": [[words, clause, place of the edition, read], ...]}}.
    """
    told: Data = {}
    for body, regulation in regulations.items():
        lines: tuple[Rule | Habit | Award, ...] = (
            regulation.governs,
            *regulation.habit,
            *regulation.award,
        )
        editions = list(dict.fromkeys(edition(regulation, line) for line in lines))
        told[body] = {
            "e": editions,
            "y": [
                [line.says, line.clause, editions.index(edition(regulation, line)), line.read[0]]
                for line in lines
            ],
        }
    return told


def pack_bars(regulations: Mapping[str, Regulation]) -> Data:
    """Return what a body asks about any dog at the gate, once for the phone (`gate.bars_for`).

    {body: [{"question", "verdict", "why", "source"}, ...]}, and where there is any "sex", "asks"
    (completes "only if"), "kinds" of show at which alone it bars, "exempt" ([{"classes", "asks"?}])
    and "from", its first day. Ages are left to the classes.
    """
    return {
        body: [_bar(regulation, bar) for bar in regulation.bar if bar.question]
        for body, regulation in regulations.items()
    }


def _bar(regulation: Regulation, bar: Bar) -> Data:
    read = how_read(bar, "effect")
    told = [sentence(words.SHARED, {"says": "clause", "clause": bar.clause,
                                    "edition": edition(regulation, bar)})]  # fmt: skip
    if read != "copy":
        told.append(words.SHARED[f"read-{read}"])
    data: Data = {
        "question": bar.question, "verdict": bar.verdict, "why": bar.says,
        "source": " ".join(told),
    }  # fmt: skip
    optional = {
        "sex": bar.sex, "asks": bar.asks, "kinds": list(bar.kinds),
        "exempt": [
            {"classes": list(one.classes)} | ({"asks": one.asks} if one.asks else {})
            for one in bar.exempt
        ],
        "from": bar.valid_from and bar.valid_from.isoformat(),
    }  # fmt: skip
    return data | {key: value for key, value in optional.items() if value}


def _rules(regulation: Regulation, editions: Sequence[str]) -> Data:
    def fact(item: Fact) -> list[Any]:
        return [item.clause, editions.index(edition(regulation, item)), item.read[0]]

    def klass(item: ShowClass) -> Data:
        data: Data = {"n": item.name, "f": fact(item)}
        optional = {
            "d": item.decides, "w": item.wins, "x": item.never_wins, "k": item.kinds,
            "s": item.sex, "h": item.handler, "v": item.over_age,
            "u": f"{item.note} {item.conflict}".strip(),
        }  # fmt: skip
        for key, value in optional.items():
            if value:
                data[key] = list(value) if isinstance(value, tuple) else value
        if item.optional is not None:
            data["o"] = item.optional
        if item.decides:
            data["r"] = how_read(item, "decides")[0]
        if item.condition:
            data["q"] = {
                condition.id: {"f": fact(condition)}
                | ({"i": condition.instead} if condition.instead else {})
                for condition in item.condition
            }
        return data

    return {
        "n": regulation.name,
        "g": governs(regulation),
        "d": regulation.ages.decides,
        "e": list(editions),
        "c": {item.id: klass(item) for item in regulation.classes},
        "f": {
            "ages": fact(regulation.ages),
            "month_end": fact(regulation.month_end),
            "leap_day": fact(regulation.leap_day),
        }
        | {f"bar/{bar.id}": fact(bar) for bar in regulation.bar},
    }


def _labels(regulation: Regulation) -> Iterator[str]:
    for rule in (regulation.ages, regulation.month_end, regulation.leap_day):
        yield edition(regulation, rule)
    for klass in regulation.classes:
        yield edition(regulation, klass)
        yield from (edition(regulation, condition) for condition in klass.condition)
    yield from (edition(regulation, item) for item in (*regulation.bar, *regulation.variant))
